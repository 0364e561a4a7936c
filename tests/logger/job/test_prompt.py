from logger import events as ev
from logger.job.prompt import Prompt
from tests.logger.walk import SMALL, Walk, answer, sheet_of, shipped, small


def _keys(walk: Walk, *, most: int = 100) -> list[str]:
    """Answer every prompt without a fault until the job is closed; return the prompts met."""
    keys: list[str] = []
    while not walk.job.closed and len(keys) < most:
        keys.append(walk.key)
        answer(walk)
    return keys


def _found_slack() -> Walk:
    """The small sheet found too slack, at the prompt to loosen."""
    return small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm")


def _loose() -> Walk:
    """Adjusted and measured again; the bolts are next."""
    return _found_slack().confirm().turned().confirm().read("32.0 mm", "32.0 mm", "32.0 mm")


def test_a_prompt_has_a_key_for_the_trail() -> None:
    assert Prompt("measure", "slack", "tightest", "taut down").key == "measure:slack.tightest/taut down"
    assert Prompt("confirm", "ready").key == "confirm:ready"
    assert Prompt("close").key == "close"


def test_nothing_wrong_needs_few_prompts() -> None:
    """Of the shipped sheet, all inside as found: 7 readings, 6 confirmations, 3 witness marks, 2 notes."""
    keys = _keys(Walk(shipped()))
    assert [key.partition(":")[0] for key in keys].count("measure") == 7
    assert [key.partition(":")[0] for key in keys].count("confirm") == 6
    assert [key.partition(":")[0] for key in keys].count("untouched") == 3
    assert keys[-1] == "close"


def test_one_adjustment_of_the_shipped_sheet_from_start_to_end() -> None:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    walk.read("100.0 mm", "145.0 mm", "100.0 mm", "147.0 mm")
    assert _keys(walk) == [
        "measure:sides.left",
        "measure:sides.right",
        "loosen:adjust",
        "turn:adjust",
        "seat:adjust",
        "measure:slack.tightest/taut down",  # in the rounds the governing place alone
        "measure:slack.tightest/taut up",
        "measure:sides.left",
        "measure:sides.right",
        "torque:axle_nut",
        "torque:lock_nuts.left",
        "torque:lock_nuts.right",
        "measure:slack.tightest/taut down",
        "measure:slack.tightest/taut up",
        "measure:slack.opposite/taut down",  # after the last torque every place
        "measure:slack.opposite/taut up",
        "measure:sides.left",
        "measure:sides.right",
        "confirm:pin",
        "confirm:brake",
        "confirm:finish",
        "close",
    ]


# --- measure ---


def test_every_place_is_read_before_one_adjustment_serves_all() -> None:
    walk = small(upto="measure").read("45.0 mm")
    assert walk.key == "measure:ends.left"
    assert walk.read("32.0 mm", "33.0 mm").key == "loosen:adjust"


def test_a_failing_measure_that_nothing_corrects_stays() -> None:
    walk = Walk(shipped())
    while walk.key != "measure:wear":
        answer(walk)
    walk.read("103.0 mm")
    assert (walk.key, walk.prompt.stays) == ("measure:wear", True)
    walk.read("103.1 mm")
    assert (walk.key, walk.prompt.stays) == ("measure:wear", True)
    assert walk.override("wear").key == "confirm:tightest"


def test_an_uneven_pair_that_nothing_corrects_stays_at_its_first_place() -> None:
    text = SMALL.replace('corrects = ["gap", "ends"]', 'corrects = ["gap"]')
    walk = Walk(sheet_of(text)).confirm().read("32.0 mm", "32.0 mm", "33.0 mm")
    assert (walk.key, walk.prompt.stays) == ("measure:ends.left", True)


def test_a_windowed_place_that_fails_is_the_one_to_take_again() -> None:
    text = SMALL.replace('agree_within = "0.5 mm"', 'window = ["30 mm", "40 mm"]').replace(
        'corrects = ["gap", "ends"]', 'corrects = ["gap"]'
    )
    walk = Walk(sheet_of(text)).confirm().read("32.0 mm", "32.0 mm", "41.0 mm")
    assert (walk.key, walk.prompt.stays) == ("measure:ends.right", True)


def test_an_overridden_place_of_a_pair_that_was_never_read_is_asked_for_its_agreement() -> None:
    text = SMALL.replace('agree_within = "0.5 mm"', 'window = ["30 mm", "40 mm"]\nagree_within = "0.5 mm"')
    walk = Walk(sheet_of(text)).confirm().read("32.0 mm").override("ends.left").read("32.0 mm")
    assert walk.key == "measure:ends.left"
    assert walk.override("ends.agreement").key == "untouched:bolts.left"


def test_a_pair_that_was_let_pass_asks_for_no_reading_of_a_place() -> None:
    assert small(upto="measure:ends.left").override("ends.agreement").key == "untouched:bolts.left"
    assert small(upto="measure:ends.left").read("36.0 mm").override("ends.agreement").key == "untouched:bolts.left"


def test_a_prompt_counts_the_readings_of_its_attempt() -> None:
    text = SMALL.replace('window = ["25 mm", "40 mm"]', 'window = ["25 mm", "40 mm"]\nrepeats = 3')
    walk = Walk(sheet_of(text)).confirm()
    numbers = []
    for _ in range(3):
        numbers.append((walk.prompt.number, walk.prompt.of))
        walk.read("32.0 mm")
    assert numbers == [(1, 3), (2, 3), (3, 3)]


def test_a_place_that_failed_as_found_is_left_for_after_the_torque() -> None:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    walk.read("100.0 mm", "138.0 mm", "100.0 mm", "142.0 mm", "36.0 mm", "36.0 mm")
    assert walk.verdict("slack.opposite") == "high"
    walk.confirm().turned().confirm().read("100.0 mm", "132.0 mm")
    assert walk.verdict("slack.opposite") == "stale"
    assert walk.key == "measure:sides.left"


def test_after_two_turnings_every_place_is_read_again() -> None:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    walk.read("100.0 mm", "145.0 mm", "100.0 mm", "147.0 mm", "36.0 mm", "36.0 mm").confirm()
    for _ in range(2):
        assert walk.key == "turn:adjust"
        walk.turned().confirm()
        walk.read("100.0 mm", "144.0 mm")
        if walk.key == "measure:slack.opposite/taut down":
            walk.read("100.0 mm", "146.0 mm")
        walk.read("36.0 mm", "36.0 mm")
    attempts = walk.job.attempts[("slack", "opposite")]
    assert len(attempts) == 2
    assert walk.turned().confirm().read("100.0 mm", "144.0 mm").key == "measure:sides.left", "it was read a turn ago"


# --- adjust ---


def test_an_adjustment_loosens_then_turns_then_seats_without_reading_in_between() -> None:
    walk = _found_slack()
    assert [walk.key, walk.confirm().key, walk.turned().key, walk.confirm().key] == [
        "loosen:adjust",
        "turn:adjust",
        "seat:adjust",
        "measure:gap",
    ]


def test_fasteners_that_are_loose_already_are_not_loosened_again() -> None:
    walk = _found_slack().confirm().turned().confirm().read("44.0 mm", "32.0 mm", "32.0 mm")
    assert walk.key == "turn:adjust"


def test_fasteners_loosened_one_by_one_come_to_the_same() -> None:
    walk = _found_slack().loosened("bolts.right")
    assert walk.key == "loosen:adjust"
    assert walk.loosened("bolts.left").key == "turn:adjust"


def test_a_loosening_that_nothing_called_for_leads_to_measuring_again() -> None:
    assert small(upto="untouched").loosened("bolts").key == "measure:gap"
    assert small(upto="measure:ends.right").loosened("bolts").key == "measure:gap"


def test_taking_back_what_called_for_the_adjustment_leads_to_measuring_again() -> None:
    walk = _found_slack().confirm().back().back().back()
    assert walk.key == "measure:gap"


def test_readings_at_an_adjust_prompt_are_a_look_and_change_nothing() -> None:
    walk = _found_slack().confirm().read("32.0 mm")
    assert walk.key == "turn:adjust"
    assert walk.turned().read("32.0 mm").key == "seat:adjust"
    assert walk.confirm().key == "measure:gap"


def test_turned_unasked_asks_to_seat_and_measures_again() -> None:
    walk = small(upto="close").turned()
    assert walk.key == "seat:adjust"
    assert walk.confirm().key == "measure:gap"


# --- torque ---


def test_a_begun_run_is_finished_before_anything_is_measured_again() -> None:
    walk = _loose().pull("40 N·m")
    assert walk.verdict("gap") == "stale"
    assert walk.key == "torque:bolts.right"
    assert walk.pull("30 N·m").key == "torque:bolts.right"
    assert walk.pull("40 N·m").key == "measure:gap"


def test_a_run_not_begun_measures_first() -> None:
    """Snugging the nut with the wrench is a pull too, but no torque was asked for: measure before going on."""
    walk = _found_slack().confirm().turned().pull("8 N·m").confirm()
    assert walk.key == "measure:gap"


def test_a_pull_too_early_is_loosened_again_before_measuring() -> None:
    walk = _found_slack().confirm().turned().confirm().pull("40 N·m")
    assert walk.key == "slacken:bolts.left"
    assert walk.confirm().key == "measure:gap"


def test_over_the_window_is_loosened_then_measured_then_torqued_again() -> None:
    walk = _loose().pull("45 N·m")
    assert walk.key == "slacken:bolts.left"
    assert walk.confirm().read("32.0 mm", "32.0 mm", "32.0 mm").key == "torque:bolts.left"


def test_a_run_gives_way_to_an_earlier_check_that_turned_to_failing() -> None:
    """A wear that failed, then passed: while the run is on, the passing reading is taken back."""
    walk = Walk(shipped())
    while walk.key != "measure:wear":
        answer(walk)
    walk.read("103.0 mm", "102.0 mm")
    passing = walk.seq
    while walk.key != "untouched:axle_nut":
        answer(walk)
    walk.loosened("axle_nut")
    while walk.key != "torque:axle_nut":
        answer(walk)
    walk.pull("60 N·m")
    assert walk.key == "torque:axle_nut"
    walk.say(ev.TakenBack(of=passing, why="held askew"))
    assert walk.verdict("wear") == "high"
    assert (walk.key, walk.prompt.stays) == ("measure:wear", True)


def test_torque_is_not_reached_past_a_failing_check_even_on_a_sheet_that_puts_it_between() -> None:
    text = SMALL.replace(
        '[[step]]\nid = "adjust"',
        '[[step]]\nid = "hub"\nkind = "torque"\ntitle = "Hub"\nask = "Pull."\nwindow = ["9 N·m", "11 N·m"]\n'
        'aim = "10 N·m"\nwitness = "Paint"\n[[step]]\nid = "adjust"',
    )
    walk = Walk(sheet_of(text)).confirm().read("45.0 mm", "32.0 mm", "32.0 mm")
    assert walk.key == "loosen:adjust"
    walk.confirm().turned().confirm().read("32.0 mm", "32.0 mm", "32.0 mm")
    assert walk.key == "untouched:hub"


def test_a_torque_taken_back_is_pulled_from_loose_again() -> None:
    walk = _loose().pull("40 N·m").back("wrong bolt")
    assert walk.key == "slacken:bolts.left"


def test_locks_and_later_confirmations_come_after_the_last_check_of_the_torque() -> None:
    walk = _loose()
    assert _keys(walk)[-3:] == ["confirm:cap", "confirm:runs", "close"]


def test_a_closed_job_prompts_for_nothing() -> None:
    assert small(upto="close").close().key == "closed"
