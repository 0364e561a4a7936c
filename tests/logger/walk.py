"""A job walked event by event, for tests: say what a person does or a tool sends, look at prompt and verdicts.

Everything goes through the same pure functions as at the bench (intake, decide, fold, judge, prompt); there is no I/O.
"""

import tomllib
from dataclasses import dataclass, field, replace
from decimal import Decimal
from importlib import resources

from drivers.reading import Source, Stamp, ToolPeak, ToolReading
from logger import events as ev
from logger.advice.plan import Plan, plan
from logger.bench import decide, intake, pullintake
from logger.job.facts import Job
from logger.job.job import apply, opened
from logger.job.prompt import Prompt, next_prompt
from logger.job.rules import Judged, judge
from logger.job.torquepass import adapter_of, aim_of, aim_on_wrench
from logger.job.zeroed import suspected
from logger.pulls.found import FoundPull
from logger.sheets.sheet import Sheet
from logger.trail.clocks import utc_text
from logger.units import unit_of

SMALL = """
format = 1
id = "small"
title = "Take-up bearing"
revision = "1"
about = "Invented figures for tests."
cautions = ["Lock the belt out."]
[conditions]
still = "belt locked out"
[drive]
span = "538 mm"
slack = "gap"
sides = "ends"
thread = "1.0 mm"
adjuster = "pushes"
tighten = "clockwise, seen from the screw's head"
chain_side = "left"
[[due]]
what = "Look again"
after = "40 h"
[[step]]
id = "safe"
kind = "confirm"
title = "Belt locked out"
items = ["Key in your pocket"]
conditions = ["still"]
[[step]]
id = "gap"
kind = "measure"
title = "Belt sag"
tools = ["caliper"]
ask = "Measure the sag."
condition = "still"
window = ["25 mm", "40 mm"]
aim = "32 mm"
plausible = ["5 mm", "90 mm"]
[[step]]
id = "ends"
kind = "measure"
title = "Bearing position"
tools = ["caliper"]
ask = "Measure both ends."
places = ["left", "right"]
agree_within = "0.5 mm"
grows = "rearward"
[[step]]
id = "adjust"
kind = "adjust"
title = "Turn the screws"
corrects = ["gap", "ends"]
disturbs = ["gap", "ends", "bolts", "cap", "runs"]
loosen = ["bolts"]
after = ["Bearing pushed home"]
[[step]]
id = "bolts"
kind = "torque"
title = "Bearing bolts"
ask = "Pull to 40."
fasteners = ["left", "right"]
window = ["36 N·m", "44 N·m"]
aim = "40 N·m"
disturbs = ["gap", "ends", "runs"]
witness = "Paint line unbroken"
[[step]]
id = "cap"
kind = "confirm"
title = "Cap and paint line"
items = ["Paint line across both bolts"]
locks = ["bolts"]
[[step]]
id = "runs"
kind = "confirm"
title = "Belt runs true"
items = ["Belt runs true by hand"]
"""
"""A small sheet: one place with a window, a pair without, two bolts."""


ENDLESS = 500
"""Events after which a walk cannot end any more; the longest has about a hundred."""


def bolted(*, fasteners: int = 2, passes: int = 0, adapter: str = "", decision: str = "simple", more: str = "") -> str:
    """The small sheet with its bolts torqued otherwise; `adapter` is "400 mm, 40 mm, 0", `more` further keys."""
    names = ("left", "right", "upper", "lower")[:fasteners]
    quoted = ", ".join(f'"{name}"' for name in names)
    keys = [f"fasteners = [{quoted}]", more]
    windows = (("12", "16", "14"), ("22", "27", "24"))[:passes]
    tables = [f'{{ window = ["{low} N·m", "{high} N·m"], aim = "{aim} N·m" }}' for low, high, aim in windows]
    keys.append(f"passes = [{', '.join(tables)}]" if tables else "")
    if adapter:
        wrench, extension, angle = adapter.split(", ")
        keys.append(f'adapter = {{ wrench = "{wrench}", extension = "{extension}", angle = {angle} }}')
    text = SMALL.replace('fasteners = ["left", "right"]', "\n".join(key for key in keys if key))
    return text.replace('revision = "1"', f'revision = "1"\ndecision = "{decision}"')


def described(tool: str = "W1", kind: str = "torque wrench", **stated: str) -> ev.ToolDescribed:
    """What is stated of a tool, a wrench of 1 % unless said otherwise."""
    figures = {"accuracy": "1 %", "resolution": "0.1 N·m"} | stated
    return ev.ToolDescribed.model_validate({"tool": tool, "tool_kind": kind, "stated_by": "toolbook"} | figures)


def sheet_of(text: str) -> Sheet:
    """Build a sheet from TOML text; only the model checks it, so that odd ones can be tested as well."""
    return Sheet.model_validate(tomllib.loads(text))


def shipped(name: str = "courier-chain") -> Sheet:
    """Build a shipped sheet."""
    return sheet_of(resources.files("logger").joinpath(f"sheets/{name}.toml").read_text(encoding="utf-8"))


def number(text: str) -> tuple[str, str]:
    """Split "36.2 mm" into its number and its unit."""
    value, unit = text.split(" ", 1)
    return value, unit


@dataclass(slots=True)
class Walk:
    """One job; every method that makes something happen returns the walk, so that calls chain."""

    sheet: Sheet
    records: list[ev.Record] = field(default_factory=list)
    job: Job = field(init=False)

    def __post_init__(self) -> None:
        event = ev.JobOpened(
            sheet=self.sheet.id,
            revision=self.sheet.revision,
            sheet_sha256="",
            sheet_text="",
            machine="Depot 7",
            by="Robin",
            simulated=True,
            offset="+00:00",
            program="test",
        )
        self.records.append(self._record(event))
        self.job = opened(self.records[0], self.sheet)

    def _record(self, event: ev.Event) -> ev.Record:
        seq = len(self.records) + 1
        utc = utc_text(self.at(seq).utc_ns)
        return ev.Record(seq=seq, job="j1", utc=utc, mono_us=seq * 10**6, boot="", event=event)

    @staticmethod
    def at(seq: int) -> Stamp:
        """The moment of one event: a second each."""
        return Stamp(1_767_600_000 * 10**9 + seq * 10**9, seq * 10**9)

    # --- what holds now ---

    @property
    def prompt(self) -> Prompt:
        """What to do now."""
        return next_prompt(self.job)

    @property
    def key(self) -> str:
        """The present prompt in short, such as `measure:gap`."""
        return self.prompt.key

    @property
    def verdicts(self) -> dict[str, Judged]:
        """Every check."""
        return dict(judge(self.job))

    def verdict(self, check: str) -> ev.Verdict:
        """The verdict of one check."""
        return self.verdicts[check].verdict

    @property
    def plan(self) -> Plan | None:
        """The advice now."""
        return plan(self.job, self.prompt)

    @property
    def last(self) -> ev.Event:
        """The last event."""
        return self.records[-1].event

    @property
    def seq(self) -> int:
        """The sequence of the last event."""
        return self.job.seq

    # --- what happens ---

    def say(self, event: ev.Event) -> "Walk":
        """Let any event happen; what a failed zero check makes suspect is put on the trail with it, as at the bench."""
        assert len(self.records) < ENDLESS, f"the walk goes round and round at {self.key}"
        self.records.append(self._record(event))
        self.job = apply(self.job, self.records[-1])
        told = suspected(self.job)
        return self if told is None else self.say(told)

    def reading(self, text: str, *, tool: str = "C1", kind: str = "caliper", source: Source = "sig") -> ToolReading:
        """Build what a driver hands over for "36.2 mm"."""
        value, unit = number(text)
        quantity = unit_of(unit)
        assert quantity is not None
        at = self.at(len(self.records) + 1)
        of = "torque" if quantity[0] == "torque" else "length"
        return ToolReading(tool, "torque" if of == "torque" else "length", value, unit, source, "00", at, kind)

    def read(self, *texts: str, tool: str = "C1", kind: str = "caliper", source: Source = "sig") -> "Walk":
        """Let readings arrive, one after the other."""
        for text in texts:
            reading = self.reading(text, tool=tool, kind=kind, source=source)
            self.say(intake.reading_event(self.job, self.prompt, reading))
        return self

    def duplicate(self, text: str) -> "Walk":
        """Let the same frame arrive again."""
        return self.say(intake.reading_event(self.job, self.prompt, replace(self.reading(text), duplicate=True)))

    def pull(
        self, text: str, *, host: str = "", invalid: str = "", anticlockwise: bool = False, alone: bool = False
    ) -> "Walk":
        """Let a pull arrive: the tool's own peak, and its largest sample where that differs."""
        value, unit = number(text)
        at = self.at(len(self.records) + 1)
        own = ToolPeak("W1", value, unit, "00", at)
        if alone:
            reading = self.reading(text, tool="W1", kind="torque wrench")
            return self.say(intake.reading_event(self.job, self.prompt, reading))
        top = Decimal(host or value)
        found = FoundPull(
            "W1",
            unit,
            "anticlockwise" if anticlockwise else "clockwise",
            top,
            str(top),
            top,
            str(top),
            at,
            at,
            2,
            None,
            None,
            ((0, "0"), (400, str(top))),
            invalid,
            own_peak=own,
        )
        return self.say(pullintake.pull_event(self.job, self.prompt, found))

    def confirm(self, times: int = 1) -> "Walk":
        """Confirm what the prompt asks to confirm."""
        for _ in range(times):
            self.say(decide.confirmed(self.job, self.prompt))
        return self

    def note(self, text: str) -> "Walk":
        """Answer a note prompt, or leave a free note."""
        return self.say(decide.noted(self.prompt, self.job, text))

    def loosened(self, *names: str) -> "Walk":
        """Report fasteners loosened."""
        return self.say(decide.loosened(self.job, self.prompt, names))

    def turned(self, left: str = "1", right: str = "1") -> "Walk":
        """Report adjusters turned."""
        return self.say(decide.turned(self.job, self.prompt, Decimal(left), Decimal(right), self.plan))

    def back(self, why: str = "slipped") -> "Walk":
        """Take the last counted reading or pull back."""
        return self.say(decide.taken_back(self.job, why))

    def override(self, check: str, note: str = "seen by the foreman") -> "Walk":
        """Let a check pass as it is."""
        return self.say(decide.overridden(self.verdicts, check, "Robin", note))

    def close(self) -> "Walk":
        """Close the job, or have it refused."""
        return self.say(decide.closing(self.job, self.verdicts))


def small(*, upto: str = "") -> Walk:
    """A walk on the small sheet, gone without a fault as far as the prompt that begins with `upto`."""
    walk = Walk(sheet_of(SMALL))
    while upto and not walk.key.startswith(upto):
        answer(walk)
    return walk


def asked(walk: Walk) -> str:
    """What the wrench has to show for the torque the prompt asks for: the aim of its pass, through the adapter."""
    step = walk.sheet.by_id[walk.prompt.step]
    assert step.kind == "torque"
    aim, adapter = aim_of(step, walk.prompt.number), adapter_of(walk.job, step)
    if adapter is None:
        return f"{aim.value} {aim.unit}"
    return f"{round(float(aim_on_wrench(aim, adapter, aim.unit)), 1)} {aim.unit}"


def answer(walk: Walk, length: str = "32.0 mm", torque: str = "") -> Walk:
    """Do what the prompt says, without a fault, each length reading as `length`, each torque at its aim."""
    prompt = walk.prompt
    match prompt.kind:
        case "measure" if prompt.part:
            return walk.read("100.0 mm" if prompt.number % 2 else f"{Decimal(100) + Decimal(number(length)[0])} mm")
        case "measure":
            return walk.read("101.8 mm" if prompt.step == "wear" else length)
        case "note":
            return walk.note("12480")
        case "turn":
            return walk.turned()
        case "torque":
            return walk.pull(torque or asked(walk))
        case "close":
            return walk.close()
        case _:
            return walk.confirm()
