"""What comes too soon is not taken, and a second press counts only in time."""

from tests.tui.hand import StillClock
from tui.entry.patience import OPENED_NS, READ_NS, Patience


def test_a_new_prompt_cannot_have_been_read_at_once() -> None:
    clock = StillClock()
    patience = Patience(clock)
    patience.painted("confirm:ready")
    patience.key(0)
    assert patience.unread("confirm:ready"), "the first one needs its time too"
    clock.ms += 699
    patience.painted("confirm:ready")
    patience.key(0)
    assert patience.unread("confirm:ready")
    clock.ms += 1
    patience.key(0)
    assert not patience.unread("confirm:ready")


def test_what_was_not_painted_is_unread_however_long_the_last_was() -> None:
    clock = StillClock()
    patience = Patience(clock, 0)
    patience.painted("confirm:ready")
    clock.ms += 5000
    patience.key(0)
    assert patience.unread("confirm:chain")
    assert not patience.unread("confirm:ready")


def test_a_key_counts_from_when_it_was_read() -> None:
    clock = StillClock()
    patience = Patience(clock)
    patience.painted("confirm:ready")
    clock.ms += 2000
    patience.key(1_400_000_000)
    assert patience.unread("confirm:ready"), "it waited in a queue for 1.4 s"
    patience.key(1_300_000_000)
    assert not patience.unread("confirm:ready")


def test_what_was_asked_for_needs_less_time() -> None:
    clock = StillClock()
    patience = Patience(clock)
    patience.painted("dialog")
    clock.ms += 250
    patience.key(0)
    assert not patience.unread("dialog", OPENED_NS)


def _press(patience: Patience, what: str, soonest_ns: int = 0) -> bool:
    patience.key(0)
    return patience.again(what, soonest_ns)


def test_only_the_second_press_in_time_counts() -> None:
    clock = StillClock()
    patience = Patience(clock)
    assert not _press(patience, "leave")
    clock.ms += 3001
    assert not _press(patience, "leave"), "too late: it is a first press again"
    clock.ms += 3000
    assert _press(patience, "leave")
    assert not _press(patience, "leave"), "a third press begins anew"


def test_a_bounce_is_no_second_press() -> None:
    clock = StillClock()
    patience = Patience(clock)
    assert not _press(patience, "loosened", READ_NS)
    clock.ms += 30
    assert not _press(patience, "loosened", READ_NS)
    clock.ms += 670
    assert _press(patience, "loosened", READ_NS), "counted from the first"


def test_a_pedal_that_bounces_is_pressed_once() -> None:
    clock = StillClock()
    patience = Patience(clock)
    pressed = []
    for wait in (0, 30, 669, 1):
        clock.ms += wait
        patience.key(0)
        pressed.append(not patience.bounced("pedal"))
    assert pressed == [True, False, False, True]


def test_one_press_of_each_is_no_second_press() -> None:
    patience = Patience(StillClock())
    assert not _press(patience, "leave")
    assert not _press(patience, "loosened")
