"""What a bench has sent and what the collector has acknowledged: pure decisions on what to send next."""

from dataclasses import dataclass, replace

WINDOW = 64
"""Events sent beyond the last acknowledged one: bounds what a broker or a collector must hold of one bench."""
FIRST_WINDOW = 2


@dataclass(frozen=True, slots=True)
class Sending:
    """Where a bench stands with its collector, on one connection."""

    trail: str
    acked: int = -1
    """Last event the collector has without a gap; -1 until it said so on this connection."""
    sent: int = 0
    alive: bool = False
    """Whether the collector says that it takes events."""
    parked: frozenset[int] = frozenset()
    window: int = FIRST_WINDOW
    """Events that may be on their way now: one more with each acknowledgement, half of them after a loss, so that many
    benches together do not overrun what a broker queues (additive increase, multiplicative decrease: RFC 5681)."""
    conflict: str = ""
    """Why nothing more is sent: the collector keeps another version of this trail."""

    @property
    def may_send(self) -> bool:
        """Whether it is known where to go on, and someone takes it."""
        return self.alive and self.acked >= 0 and not self.conflict

    def room(self) -> int:
        """Return how many events may be sent now."""
        return max(0, self.acked + len(self.parked) + self.window - self.sent) if self.may_send else 0

    def waits(self, head: int) -> bool:
        """Whether something that was sent is not acknowledged, so that silence means to send it again."""
        return self.may_send and self.acked + len([seq for seq in self.parked if seq > self.acked]) < min(
            self.sent, head
        )

    def owed(self, head: int) -> int:
        """Return how many events the collector lacks, as far as is known."""
        return head - max(self.acked, 0)


def acknowledged(state: Sending, trail: str, seq: int, agrees: bool | None) -> Sending:
    """Take an acknowledgement; `agrees` says whether our event of that number has that hash, None if we have none.

    An acknowledgement that goes back (a collector that lost its store) is followed: what it lacks is sent again.
    """
    if trail != state.trail:
        return state
    if agrees is None:
        return replace(state, conflict=f"the shop keeps {seq} events of this trail, more than there are here")
    if not agrees:
        return replace(state, conflict=f"the shop keeps another event {seq} of this trail")
    goes_back = state.acked < 0 or seq < state.acked
    return replace(
        state,
        acked=seq,
        sent=seq if goes_back else max(state.sent, seq),
        window=min(WINDOW, state.window + 1) if seq > state.acked >= 0 else state.window,
        parked=frozenset(each for each in state.parked if each > seq),
    )


def asked_again(state: Sending, trail: str, first: int) -> Sending:
    """Take a request for a gap: go on from its first event."""
    if trail != state.trail or first > state.sent:
        return state
    return replace(state, sent=max(first - 1, state.acked, 0), window=max(1, state.window // 2))


def refused(state: Sending, trail: str, seq: int, kind: str, reason: str) -> Sending:
    """Take a refusal: of a parked event go on without it, of a conflict stop; else it is sent again."""
    if trail != state.trail or seq > state.sent:  # a refusal of what was not sent yet answers someone else
        return state
    if kind == "conflict":
        return replace(state, conflict=reason)
    if kind == "parked":
        return replace(state, parked=state.parked | {seq})
    return asked_again(state, trail, seq)


def sent(state: Sending, seq: int) -> Sending:
    """Note that an event went to the broker."""
    return replace(state, sent=max(state.sent, seq))


def stalled(state: Sending) -> Sending:
    """Nothing was heard for too long: begin again after the last acknowledged event."""
    return replace(state, sent=max(state.acked, 0), window=max(1, state.window // 2))


def begun_again(state: Sending, *, alive: bool) -> Sending:
    """The collector came or went; what a new one was not there for is sent again."""
    return replace(state, alive=alive, sent=max(state.acked, 0))
