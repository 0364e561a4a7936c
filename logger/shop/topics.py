"""Where each message of a shop goes: the topics, their identifiers, and who may write what; pure.

    SHOP/1/BENCH/$state               retained  the bench: ready, disconnected, or by its last will lost
    SHOP/1/BENCH/$job                 retained  what it is at: who, machine, prompt, verdicts counted
    SHOP/1/BENCH/$head                retained  the end of its trail when it connected
    SHOP/1/BENCH/event/TRAIL/SEQ                one event of its trail; never retained
    SHOP/1/BENCH/$ack                 retained  the collector: all up to this event is kept, without a gap
    SHOP/1/BENCH/$again, $nack                  the collector: send these again; this one was refused, and why
    SHOP/1/$collector/$state          retained  the collector: ready, disconnected or lost

Identifiers and the `$state` words follow the Homie convention 5 (lower-case letters, digits and hyphens). Session
numbers in births and wills, and benches that wait until the collector is alive, follow the ideas of bdSeq and of the
primary host in the Sparkplug specification 3.0. The 1 is the version of the layout and of the payloads.
"""

import re
from dataclasses import dataclass

from logger.errors import BadInput

VERSION = "1"
COLLECTOR = "$collector"
_ID = re.compile(r"[a-z0-9-]{1,32}")
_TRAIL = re.compile(r"[0-9a-f]{32}")
_SEQ = re.compile(r"[1-9][0-9]{0,14}")


def is_id(text: str) -> bool:
    """Tell whether a text may name a shop or a bench: 1 to 32 of a-z, 0-9 and the hyphen."""
    return _ID.fullmatch(text) is not None


def need_id(what: str, text: str) -> str:
    """Return an identifier; BadInput when it is none."""
    if not is_id(text):
        raise BadInput(f"{what} {text[:40]!r} is no identifier.", "Use 1 to 32 of a-z, 0-9 and the hyphen.")
    return text


@dataclass(frozen=True, slots=True)
class BenchTopics:
    """The topics of one bench; BadInput when shop or bench are no identifiers."""

    shop: str
    bench: str

    def __post_init__(self) -> None:
        need_id("The shop", self.shop)
        need_id("The bench", self.bench)

    def of(self, leaf: str) -> str:
        """Return the topic of a leaf such as `$state`."""
        return f"{self.shop}/{VERSION}/{self.bench}/{leaf}"

    def event(self, trail: str, seq: int) -> str:
        """Return the topic of event number `seq` of a trail."""
        return self.of(f"event/{trail}/{seq}")

    @property
    def heard(self) -> tuple[str, ...]:
        """What the bench listens to."""
        return (*(self.of(leaf) for leaf in ("$ack", "$again", "$nack", "$state")), collector_state(self.shop))


def collector_state(shop: str) -> str:
    """Return where the collector says that it is alive."""
    return f"{shop}/{VERSION}/{COLLECTOR}/$state"


def collected(shop: str) -> tuple[str, ...]:
    """Return what the collector listens to."""
    return tuple(f"{need_id('The shop', shop)}/{VERSION}/+/{leaf}" for leaf in ("event/+/+", "$state", "$head"))


def watched(shop: str) -> tuple[str, ...]:
    """Return what a view of all benches listens to."""
    return tuple(f"{need_id('The shop', shop)}/{VERSION}/+/{leaf}" for leaf in ("$state", "$job"))


@dataclass(frozen=True, slots=True)
class Address:
    """What a topic says of a message: which bench, which leaf, and for an event which one."""

    bench: str
    leaf: str
    trail: str = ""
    seq: int = 0


def address(shop: str, topic: str) -> Address | None:
    """Read a topic; None when it is none of this shop."""
    match topic.split("/"):
        case [found, version, bench, leaf] if (found, version) == (shop, VERSION) and leaf.startswith("$"):
            return Address(bench, leaf) if is_id(bench) or bench == COLLECTOR else None
        case [found, version, bench, "event", trail, seq] if (found, version) == (shop, VERSION) and is_id(bench):
            if _TRAIL.fullmatch(trail) and _SEQ.fullmatch(seq):
                return Address(bench, "event", trail, int(seq))
    return None


def access_list(shop: str) -> str:
    """Return a mosquitto access list: each bench, by its user name, writes and reads only its own topics.

    The form is that of the option `acl_file` in mosquitto.conf(5).
    """
    base = f"{need_id('The shop', shop)}/{VERSION}"
    bench = [f"pattern write {base}/%u/{leaf}" for leaf in ("event/#", "$state", "$job", "$head")]
    bench += [f"pattern read {base}/%u/{leaf}" for leaf in ("$ack", "$again", "$nack", "$state")]
    collector = [f"topic read {base}/+/{leaf}" for leaf in ("event/#", "$state", "$head")]
    collector += [f"topic write {base}/+/{leaf}" for leaf in ("$ack", "$again", "$nack")]
    return "\n".join(
        (
            "# a user named like a bench may write only what that bench says",
            *bench,
            f"pattern read {collector_state(shop)}",
            "",
            "user collector",
            *collector,
            f"topic readwrite {collector_state(shop)}",
            "",
            "user watcher",
            *(f"topic read {topic}" for topic in watched(shop)),
            "",
        )
    )
