"""What a bench says to the shop, as messages: that it is there, where its trail ends, an event, what it is at."""

from dataclasses import dataclass

from logger.trail.read import StoredEvent

from .topics import BenchTopics
from .wire import BenchHead, BenchState, EventSent, JobNow, Life, pack
from .wireport import Message

Sealed = tuple[bytes, bytes]
"""Public key and signature; empty where none was made."""


@dataclass(frozen=True, slots=True)
class Says:
    """Puts into messages what one bench says of one trail."""

    topics: BenchTopics
    trail: str
    """Its id."""
    instance: str
    """Tells this process from another that goes by the same name."""

    def life(self, session: int, state: Life) -> Message:
        """Return that the bench is there, or no more."""
        payload = BenchState(bench=self.topics.bench, session=session, state=state, instance=self.instance)
        return Message(self.topics.of("$state"), pack(payload), retain=True)

    def head(self, session: int, seq: int, digest: bytes) -> Message:
        """Return where the trail ends: the number of its last event and that one's hash."""
        payload = BenchHead(bench=self.topics.bench, session=session, trail=self.trail, seq=seq, hash=digest.hex())
        return Message(self.topics.of("$head"), pack(payload), retain=True)

    def event(self, event: StoredEvent, seal: Sealed) -> Message:
        """Return an event as it is stored, with the signature over it where there is one."""
        payload = EventSent(
            bench=self.topics.bench,
            trail=self.trail,
            seq=event.seq,
            prev=event.prev.hex(),
            hash=event.hash.hex(),
            record=event.bytes.decode(),
            key=seal[0].hex(),
            signature=seal[1].hex(),
        )
        return Message(self.topics.event(self.trail, event.seq), pack(payload))

    def job(self, session: int, job: JobNow) -> Message:
        """Return what the bench is at."""
        told = job.model_copy(update={"bench": self.topics.bench, "session": session})
        return Message(self.topics.of("$job"), pack(told), retain=True)
