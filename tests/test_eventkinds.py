"""Each kind of event is thought of wherever events are told apart: what a place lets pass by is named here, by kind."""

import re
from pathlib import Path
from typing import get_args

import pytest

from logger import events as ev

ROOT = Path(__file__).parents[1]
KINDS = {kind.model_fields["kind"].default: kind.__name__ for kind in get_args(get_args(ev.Event)[0])}
WORDS = ("logger/job/happened.py", "tui/lines.py", "logger/bench/replay.py")
RECORD = tuple(str(path.relative_to(ROOT)) for path in sorted((ROOT / "logger" / "record").glob("*.py")))

PAST: tuple[tuple[tuple[str, ...], set[str]], ...] = (
    (
        ("logger/job/job.py",),  # the fold: these change nothing of a job
        {
            "cautions_read",
            "close_refused",
            "commented",
            "fault_told",
            "frame_undecoded",
            "interrupted",
            "job_resumed",
            "reviewed",
        },
    ),
    (WORDS, set()),
    (
        RECORD,  # these are on the trail alone, or on a record as part of something else
        {"adapter_declared", "cautions_read", "interrupted", "job_resumed", "tool_declared", "tools_picked"},
    ),
    (
        ("tui/voice/spoken.py",),  # these are not spoken
        {
            "adapter_declared",
            "cautions_read",
            "commented",
            "due_opened",
            "interrupted",
            "reviewed",
            "tool_declared",
            "tool_described",
            "tools_picked",
        },
    ),
)


@pytest.mark.parametrize(("places", "past"), PAST, ids=["the fold", "the words", "the record", "the voice"])
def test_each_kind_is_told_apart_or_known_to_pass_by(places: tuple[str, ...], past: set[str]) -> None:
    text = "\n".join((ROOT / place).read_text(encoding="utf-8") for place in places)
    told = {kind for kind, name in KINDS.items() if re.search(rf'\bev\.{name}\b|"{kind}": ', text)}
    assert set(KINDS) - told == past


def test_the_kinds_are_those_of_the_union() -> None:
    assert len(KINDS) == len(get_args(get_args(ev.Event)[0])) > 20
