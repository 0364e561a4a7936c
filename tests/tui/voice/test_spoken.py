"""What is said of each kind of moment, by table: each row is what was done before, and every phrase after it."""

from collections.abc import Awaitable, Callable
from decimal import Decimal

import pytest

from drivers.reading import Link
from logger.bench.moment import Moment
from logger.job.prompt import Prompt
from tests.tui.hand import CALIPER, TOO_SLACK, Hand, at
from tui.glance.pulling import pulling
from tui.voice.bells import Sound, sound_of
from tui.voice.spoken import Phrase, advised, pulling_said, spoken

UNEVEN = ("36.20", "36.95") * 2
Play = Callable[[Hand], Awaitable[object]]


def _turn(prompt: Prompt) -> bool:
    return prompt.kind == "turn"


def _torque(prompt: Prompt) -> bool:
    return prompt.kind == "torque"


async def _half(hand: Hand) -> None:
    await hand.until(at("slack", "tightest"))
    await hand.reads("300.0")


async def _high(hand: Hand) -> None:
    await _half(hand)
    await hand.reads("345.0")


async def _inside(hand: Hand) -> None:
    await _half(hand)
    await hand.reads("332.0")


async def _uneven(hand: Hand) -> None:
    await hand.until(at("sides", "right"), slack=TOO_SLACK)
    await hand.reads("37.25")


async def _unasked(hand: Hand) -> None:
    await hand.reads("36.2")


async def _look(hand: Hand) -> None:
    await hand.until(_turn, slack=TOO_SLACK, sides=UNEVEN)
    await hand.reads("36.50")


async def _advice(hand: Hand) -> None:
    await hand.until(_turn, slack=TOO_SLACK, sides=UNEVEN)


async def _torqued(hand: Hand) -> None:
    await hand.until(_torque, slack=TOO_SLACK, sides=UNEVEN)
    await hand.torques("98")


async def _too_far(hand: Hand) -> None:
    await hand.until(_torque, slack=TOO_SLACK, sides=UNEVEN)
    await hand.torques("108")


async def _lost(hand: Hand) -> None:
    await hand.links(CALIPER, "caliper", Link.LOST, message="Out of reach or switched off.")


async def _refused(hand: Hand) -> None:
    await hand.bench.close()


async def _back(hand: Hand) -> None:
    await _half(hand)
    await hand.bench.take_back("slipped")


async def _overridden(hand: Hand) -> None:
    await hand.until(at("wear"))
    await hand.bench.override("wear", "Sam", "measured yesterday")


async def _dirty(hand: Hand) -> None:
    await hand.bench.note("12480")


_CAUTION = "Caution: Fingers clear of the sprocket."
ROWS: list[tuple[Play, tuple[str, ...], bool, Sound | None]] = [
    (_half, ("three hundred millimetres", "tightest: taut up."), False, None),
    (_inside, ("thirty-two millimetres, inside", "opposite: taut down."), False, Sound.INSIDE),
    (_high, ("high: forty-five millimetres", "opposite: taut down."), True, Sound.OUTSIDE),
    (
        _uneven,
        (
            "uneven: left one point zero five millimetres less than right",
            "right thirty-seven point two five millimetres",
            "Turn the adjusters: loosen first. Caution: Wheel and brake hang on the axle: loosen the nut, never take "
            "it off. Split pin out; it is not used again. Axle nut loosened, the far side counter-held. Lock nut of "
            "both adjusters loosened, the adjuster counter-held. Loosen: Axle nut; Adjuster lock nuts, left; Adjuster "
            "lock nuts, right.",
        ),
        True,
        Sound.OUTSIDE,
    ),
    (
        _unasked,
        ("thirty-six point two millimetres: nothing asked for it: kept, does not count",),
        True,
        Sound.WARNING,
    ),
    (
        _look,
        ("thirty-six point five millimetres: a look only: it neither counts nor confirms a turn",),
        True,
        Sound.WARNING,
    ),
    (
        _advice,
        (
            "Loosened: Axle nut; Adjuster lock nuts, left; Adjuster lock nuts, right",
            "Turn the adjusters: turn. Left five flats tighter, right none.",
        ),
        False,
        None,
    ),
    (
        _torqued,
        (
            "ninety-eight newton metres, inside",
            "Adjuster lock nuts, left: pull, to twenty-one newton metres.",
        ),
        False,
        Sound.INSIDE,
    ),
    (
        _too_far,
        (
            "high: one hundred and eight newton metres",
            "Axle nut: loosen it. Caution: Pull the wrench so that the machine cannot be rocked off its stand. "
            "Loosened, Chain slack and Axle position come first: pull it only when asked.",
        ),
        True,
        Sound.OUTSIDE,
    ),
    (_lost, ("caliper lost. Out of reach or switched off.",), True, Sound.LOST),
    (_back, ("Taken back", "tightest: taut down."), False, None),
    (_dirty, ("Noted", "Which machine is it."), False, None),
]


@pytest.mark.parametrize(("play", "phrases", "urgent", "sound"), ROWS, ids=[row[0].__name__.strip("_") for row in ROWS])
async def test_what_is_said(
    hand: Hand, play: Play, phrases: tuple[str, ...], urgent: bool, sound: Sound | None
) -> None:
    before, moment = await _last(hand, play)
    said = spoken(moment, before.prompt)
    assert tuple(phrase.text for phrase in said) == phrases
    assert said[0].urgent is urgent
    assert sound_of(moment) is sound


async def _last(hand: Hand, play: Play) -> tuple[Moment, Moment]:
    heard = [hand.bench.moment]
    hand.bench.listeners.append(heard.append)
    await play(hand)
    return heard[-2], heard[-1]


async def test_an_override_and_a_refused_closing(hand: Hand) -> None:
    before, moment = await _last(hand, _overridden)
    assert spoken(moment, before.prompt)[0].text == "Overridden: Chain wear over eight pitches"
    before, moment = await _last(hand, _refused)
    first = spoken(moment, before.prompt)[0]
    assert first.text.startswith("Closing refused: ")
    assert "checks are open." in first.text
    assert first.urgent


async def test_the_whole_prompt_is_said_first_and_its_step_only_once(hand: Hand) -> None:
    await hand.until(at("slack", "tightest"))
    moment = hand.bench.moment
    assert spoken(moment)[-1].text == f"Chain slack, middle of lower run, tightest: taut down. {_CAUTION}"
    assert spoken(moment, moment.prompt) == (Phrase("Confirmed"),)


async def test_no_advice_says_why(hand: Hand) -> None:
    await hand.until(_turn, slack=TOO_SLACK, sides=UNEVEN)
    await hand.bench.turned_as_advised()
    await hand.until(_turn, slack=("300.0", "347.0") * 2, sides=("36.60", "37.30") * 3)
    assert advised(hand.bench.moment).startswith("No advice: ")


async def test_a_closed_job_is_said_once(hand: Hand) -> None:
    before, moment = await _last(hand, lambda it: it.until(lambda prompt: prompt.kind == "closed"))
    assert spoken(moment, before.prompt) == (Phrase("Job closed"),)


async def test_a_pull_past_its_aim_is_warned_of(hand: Hand) -> None:
    await hand.until(_torque, slack=TOO_SLACK, sides=UNEVEN)
    live = pulling(hand.bench.moment, Decimal("101.5"), "N·m", Decimal("101.5"))
    assert pulling_said(live) == Phrase("past the aim: to the slot, max one hundred and six newton metres", urgent=True)


def test_each_sound_has_a_rhythm_of_its_own() -> None:
    rhythms = [sound.waits for sound in Sound]
    assert len(set(rhythms)) == len(rhythms)
    assert [sound.urgent for sound in Sound] == [False, True, True, True]
