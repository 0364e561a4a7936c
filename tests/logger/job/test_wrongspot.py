"""A governing place that reads looser than another: the mark may stand at the wrong spot."""

from tests.logger.job.measuring import WINDOW, walk_on
from tests.logger.walk import Walk, answer, described, shipped


def _at_the_slack() -> Walk:
    walk = Walk(shipped())
    walk.say(described("C1", "caliper", accuracy="0.03 mm", resolution="0.01 mm"))
    while not walk.key.startswith("measure:slack"):
        if walk.prompt.kind == "zero":
            walk.read("0.00 mm")
        else:
            answer(walk)
    return walk


def test_a_governing_place_that_reads_looser_than_another_is_warned_of_and_nothing_else_changes() -> None:
    """Method u = 0.8 mm once in the difference: U = 1.6 mm and what the tool adds."""
    for opposite, warned in (("26.6 mm", False), ("25.0 mm", True), ("33.0 mm", False)):
        walk = _at_the_slack()
        walk.read("100.0 mm", "128.0 mm", "100.0 mm", f"{100 + float(opposite.split()[0]):.1f} mm")
        warnings = " ".join(walk.verdicts["slack.tightest"].warnings)
        assert ("it reads looser than opposite" in warnings) == warned
        assert walk.verdicts["slack.opposite"].warnings == ()


def test_the_wrong_spot_is_told_with_both_places() -> None:
    walk = _at_the_slack()
    walk.read("100.0 mm", "128.0 mm", "100.0 mm", "125.0 mm")
    said = "it reads looser than opposite: the mark may stand at the wrong spot; look for the tightest place again"
    assert walk.verdicts["slack.tightest"].warnings[-1] == said


def _two_places(governing: str, other: str, *, accuracy: str = "0 mm", second: str = "C1") -> tuple[str, ...]:
    """The warnings of a governing place, each place read once by a method of u = 0.8 mm."""
    places = 'places = ["low_run", "top_run"]\ngoverns = "low_run"\nmethod_u = "0.8 mm"'
    walk = walk_on(f"{WINDOW}\n{places}")
    for tool in ("C1", "C2"):
        walk.say(described(tool, "caliper", accuracy=accuracy, resolution="0 mm"))
    walk.read(governing).read(other, tool=second)
    return walk.verdicts["gap.low_run"].warnings


def test_a_governing_place_may_read_looser_by_just_what_the_method_is_worth() -> None:
    said = "it reads looser than top run: the mark may stand at the wrong spot; look for the low run place again"
    assert _two_places("32.00 mm", "30.40 mm") == (), "U = 2 x 0.8 mm, once for both"
    assert _two_places("32.00 mm", "30.39 mm") == (said,)


def test_a_place_whose_reading_does_not_stand_warns_of_no_other() -> None:
    assert _two_places("32.00 mm", "4.00 mm") == (), "4 mm is not plausible here"
    assert _two_places("95.00 mm", "32.00 mm") == (), "nor is 95 mm"


def test_where_no_place_governs_none_is_warned_of() -> None:
    walk = walk_on(f'{WINDOW}\nplaces = ["low_run", "top_run"]').read("32.00 mm", "26.00 mm")
    assert [walk.verdicts[f"gap.{place}"].warnings for place in ("low_run", "top_run")] == [(), ()]


def test_what_is_common_to_one_tool_does_not_hide_the_wrong_spot() -> None:
    assert _two_places("32.00 mm", "30.00 mm", accuracy="2 mm") != ()
    assert _two_places("32.00 mm", "30.00 mm", accuracy="2 mm", second="C2") == ()
