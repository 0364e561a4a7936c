"""Depots in which something is to be begun: one with jobs and tools, one without, one with tools that are picked."""

from dataclasses import replace

from logger.job.candidates import Candidate, Need
from logger.job.fitness import Doubt
from logger.sheets.store import open_sheet, shipped
from tui.choice import Depot, Owned, PastJob, Weighed

SHEETS = {name: open_sheet(name).sheet for name in shipped()}
OPEN = PastJob("j9", "courier-chain", "Depot 7", "Robin", "open", "2026-03-02T08:00:00Z")
_OLD = PastJob("j1", "courier-chain", "Depot 4", "Kim", "closed", "2026-02-01T08:00:00Z")
_OTHER = replace(_OLD, job="j3", sheet="parcel-conveyor", machine="Parcel conveyor 3", by="Robin")
JAWS = Owned("jaws: caliper, ± 0.03 mm; calibration ok")
SPARE = Owned("spare: caliper, ± 0.03 mm; calibration due in 9 days", "calibration due in 9 days")
LATE = Doubt("calibration overdue", "late: its calibration was due on 2026-01-31.", bars=True)
DEPOT = Depot(SHEETS, (OPEN, _OTHER, _OLD), {"jaws": JAWS}, lambda _: Weighed())
EMPTY = Depot(SHEETS, (), {}, lambda _: Weighed(cannot=("Axle nut with lever: it cannot decide.",)))
_CALIPERS = (
    Candidate("jaws", "caliper", served=True),
    Candidate("spare", "caliper"),
    Candidate("late", "caliper", (LATE,)),
)
_LEVER, _BAR = Candidate("lever", "torque wrench"), Candidate("bar", "torque wrench")
NEEDS = (
    Need("caliper", "caliper", ("wear", "sides"), _CALIPERS),
    Need("axle_nut", "Axle nut", ("axle_nut",), (_LEVER, _BAR)),
    Need("lock_nuts", "Adjuster lock nuts", ("lock_nuts",), (_BAR,)),
)
TOOLED = replace(DEPOT, tools={"jaws": JAWS, "spare": SPARE}, weigh=lambda _: Weighed(NEEDS))
