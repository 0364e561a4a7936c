"""The reins of a demo: pause and go on, or send the mechanic home, once; in a job without one they do nothing."""

from simulators.demo import Handover
from tui.apps.reins import Reins
from tui.entry.actions import BY_HAND, PAUSE


def test_a_paused_mechanic_goes_on_by_the_same_key() -> None:
    reins = Reins(Handover())
    assert [(key.key, key.label) for key in reins.keys] == [(PAUSE.key, "Pause"), (BY_HAND.key, "Go on by hand")]
    assert reins.pause()
    assert (reins.keys[0].label, reins.state) == ("Go on", "paused")
    assert reins.pause()
    assert (reins.keys[0].label, reins.state) == ("Pause", "")


def test_a_mechanic_is_sent_home_once_and_leaves_no_keys() -> None:
    control = Handover()
    reins = Reins(control)
    assert reins.take_over()
    assert (reins.keys, reins.state) == ((), "by hand")
    assert not reins.take_over()
    assert not reins.pause()
    assert not control.paused


def test_without_a_mechanic_there_is_nothing_to_hold() -> None:
    reins = Reins(None)
    assert (reins.pause(), reins.take_over(), reins.keys, reins.state) == (False, False, (), "")
