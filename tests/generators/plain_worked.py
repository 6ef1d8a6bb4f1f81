"""Plain boats worked through the pipeline from their typed projects, and how well they fit."""

from dataclasses import dataclass

import numpy as np

from app.pipeline import Boat, Pipeline, Stage
from lofting.dryfit import DryFit, fit_parts
from tests.generators.plain_boats import Form
from tests.generators.plain_projects import plain_project

OPEN = 0.2
"""A seam that stands open by more than this does not close, mm."""

WHY = ("twist", "crease", "tight-bend", "outsides-overlap")
"""Findings that say why a seam does not close."""


@dataclass(frozen=True)
class WorkedPlain:
    """One boat and its dry fit (None where a stage made nothing), measures in mm."""

    boat: Boat
    fit: DryFit | None

    @property
    def mating(self) -> float:
        """The most two mating edges differ, thickness allowed for."""
        planking = self.boat.planking
        seams = () if planking is None else planking.seams
        return max((float(np.abs(seam.gap_run).max()) for seam in seams), default=0.0)

    @property
    def largest(self) -> float:
        """The widest gap along any seam."""
        return 0.0 if self.fit is None else self.fit.largest

    @property
    def frames_off(self) -> float:
        """The most a frame or transom stands off the planks or reaches into them."""
        fits = () if self.fit is None else self.fit.frames
        return max((frame.largest for frame in fits), default=0.0)

    @property
    def twisted(self) -> bool:
        """Whether a plank twists over the limit."""
        return any(finding.code == "twist" for finding in self.boat.findings)

    @property
    def untold(self) -> tuple[str, ...]:
        """Lines whose seam stands open while no finding of the boat names that seam's gap."""
        if self.fit is None:
            return ()
        told = {f.where.get("line") for f in self.boat.findings if f.code == "seam-gap"}
        return tuple(s.line for s in self.fit.seams if s.largest > OPEN and s.line not in told)

    @property
    def unexplained(self) -> tuple[str, ...]:
        """Lines whose seam stands open while neither it nor a plank along it has a finding that
        says why."""
        if self.fit is None:
            return ()
        why = {str(v) for f in self.boat.findings if f.code in WHY for v in f.where.values()}
        return tuple(
            seam.line
            for seam in self.fit.seams
            if seam.largest > OPEN
            and not why & {seam.line, *(n.removesuffix(", starboard") for n in (seam.a, seam.b))}
        )


def worked_plain(form: Form, seed: int) -> WorkedPlain:
    """Table to floating boat as the program goes, then put together."""
    boat = Pipeline().run(plain_project(form, seed), Stage.AFLOAT)
    if boat.planking is None or boat.parts is None:
        return WorkedPlain(boat, None)
    return WorkedPlain(boat, boat.together or fit_parts(boat.planking, boat.parts))
