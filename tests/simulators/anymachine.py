"""Machines for tests: any small chain drive, one without scatter, one that is loose."""

from dataclasses import replace
from random import Random
from typing import TypeVar

from simulators.chain import Sprockets
from simulators.machine import Machine, MachineSpec, Shift, courier_spec

M = TypeVar("M", bound=Machine)
STILL = Shift(mean_mm=0, sd_mm=0)
EXACT = replace(courier_spec(), slack_sd_mm=0, side_sd_mm=0, backlash_turns=0, seated_shift=STILL)


def loosened(machine: M) -> M:
    """Loosen every fastener of a machine and return it."""
    for fastener in tuple(machine.torque):
        machine.loosen(fastener)
    return machine


def random_spec(rng: Random) -> MachineSpec:
    """Any small chain drive: geometry, thread, wear, play, run-out, scatter and the state it comes in at random."""
    front, rear = rng.randint(13, 17), rng.randint(34, 50)
    pitch = rng.choice((12.7, 15.875))
    sprockets = Sprockets(front, rear, pitch)
    links = 2 * round(sprockets.taut_loop(rng.uniform(540, 680)) / pitch / 2)
    return MachineSpec(
        front=front,
        rear=rear,
        pitch_mm=pitch,
        links=links,
        elongation=rng.uniform(0, 0.012),
        slack_mm=rng.uniform(12.0, 65.0),
        apart_mm=rng.gauss(0, 1.0),
        thread_mm=rng.choice((1.0, 1.25, 1.5)),
        backlash_turns=rng.uniform(0.0, 0.15),
        rear_eccentricity_mm=rng.uniform(0, 0.08),
        front_eccentricity_mm=rng.uniform(0, 0.03),
        phase_deg=rng.uniform(0, 360),
        grows=rng.choice(("rearward", "forward")),
        slack_sd_mm=rng.uniform(0.3, 1.0),
        side_sd_mm=rng.uniform(0.05, 0.15),
        seated_shift=Shift(mean_mm=rng.gauss(0.01, 0.01), sd_mm=rng.uniform(0.01, 0.03)),
        nut_nm=rng.uniform(50, 110),
    )
