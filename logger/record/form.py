"""The form of a JSON record, version 4: what each key holds. A key is never renamed; new ones raise the version."""

from typing import Literal

from logger.confined import Confined
from logger.events import SideOffset

from .adjusted import ActPart, DrivePart, RoundPart, TurnPart, WearPart
from .checked import CheckPart, LetPassPart
from .taken import PullPart, ReadingPart, ToolPart
from .told import CommentPart, DuePart, FaultPart, NotePart, RefusalPart, ReviewPart, SuspectPart

FORMAT = "evenhand-record"
VERSION = 4


class SheetPart(Confined):
    """The sheet the job was done by; `sha256` is of the bytes of its file."""

    id: str
    title: str
    revision: str
    sha256: str
    decision: str
    conditions: dict[str, str]
    cautions: tuple[str, ...]


class MileagePart(Confined):
    """What a note step asked for as a number: the odometer, or the hours run."""

    title: str
    value: str
    unit: str


class HeadPart(Confined):
    """The head of the whole trail when the record was made: to be held against the trail later."""

    trail: str
    seq: int
    sha256: str
    words: str
    """Number and first 64 bits of the hash in short words."""
    key: str
    """Ed25519 public key of the bench that signed this head, in hex; empty where nobody did."""
    signature: str


class RecordFile(Confined):
    """A whole record."""

    format: Literal["evenhand-record"] = "evenhand-record"
    version: Literal[4] = 4
    job: str
    state: Literal["open", "closed"]
    machine: str
    mileage: MileagePart | None
    mileage_asked: bool
    """Whether the sheet asks for one."""
    by: str
    simulated: bool
    seed: int | None
    opened: str
    closed: str | None
    offset: str
    """Local offset from UTC where the job was opened."""
    program: str
    sheet: SheetPart
    not_to_be_ridden: bool
    warnings: tuple[str, ...]
    """What stands in plain sight above everything else."""
    checks: tuple[CheckPart, ...]
    readings: tuple[ReadingPart, ...]
    pulls: tuple[PullPart, ...]
    overrides: tuple[LetPassPart, ...]
    turns: tuple[TurnPart, ...]
    drive: DrivePart | None
    rounds: tuple[RoundPart, ...]
    wear: tuple[WearPart, ...]
    acts: tuple[ActPart, ...]
    notes: tuple[NotePart, ...]
    tools: tuple[ToolPart, ...]
    due: tuple[DuePart, ...]
    suspects: tuple[SuspectPart, ...]
    faults: tuple[FaultPart, ...]
    side_offset: SideOffset | None
    """The proven left-right difference of the machine that was allowed for."""
    refusals: tuple[RefusalPart, ...]
    comments: tuple[CommentPart, ...]
    reviews: tuple[ReviewPart, ...]
    undecoded: int
    """Frames that could not be understood; they are on the trail as hex."""
    head: HeadPart


def record_schema() -> dict[str, object]:
    """Return the JSON schema (draft 2020-12) of a record, made from these models."""
    schema = RecordFile.model_json_schema(mode="serialization")
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:{FORMAT}:{VERSION}",
        **schema,
        "required": list(RecordFile.model_fields),
        "title": f"Evenhand record, version {VERSION}",
    }
