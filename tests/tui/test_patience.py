"""What comes too soon is not taken, and a second press counts only in time."""

from tui.patience import Patience

from .hand import StillClock


def test_a_new_prompt_cannot_have_been_read_at_once() -> None:
    clock = StillClock()
    patience = Patience(clock, "confirm:ready")
    assert not patience.unread(), "the first prompt was in sight before"
    patience.prompted("confirm:chain")
    clock.ms += 699
    patience.prompted("confirm:chain")
    assert patience.unread()
    clock.ms += 1
    assert not patience.unread()


def test_only_the_second_press_in_time_counts() -> None:
    clock = StillClock()
    patience = Patience(clock, "")
    assert not patience.again("leave")
    clock.ms += 3001
    assert not patience.again("leave"), "too late: it is a first press again"
    clock.ms += 3000
    assert patience.again("leave")
    assert not patience.again("leave"), "a third press begins anew"


def test_one_press_of_each_is_no_second_press() -> None:
    patience = Patience(StillClock(), "")
    assert not patience.again("leave")
    assert not patience.again("loosened")
