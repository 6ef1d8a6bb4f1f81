"""Invented projects worked through from their tables to the dry fit, and what came out counted."""

from dataclasses import dataclass

import numpy as np

from app.project import conversion
from app.project.document import Project
from lofting.dryfit import DryFit, fit_parts
from lofting.fairing import fair_lines
from lofting.findings import Finding, Severity
from lofting.fittings import fit_out
from lofting.framing import make_parts
from lofting.offsets import read_table
from lofting.parts import PartList
from lofting.planking import Planking, plank_hull

STEMS = ("stem", "stern stem")


@dataclass(frozen=True)
class Worked:
    """One boat, with the measures that planks and parts are judged by, mm."""

    planking: Planking
    parts: PartList
    fit: DryFit
    findings: tuple[Finding, ...]

    @property
    def mating(self) -> float:
        """The most two mating edges differ, thickness allowed for."""
        return max((float(np.abs(s.gap_run).max()) for s in self.planking.seams), default=0.0)

    @property
    def seams_open(self) -> float:
        """The widest gap along keel and chines."""
        return max((s.largest for s in self.fit.seams if s.line not in STEMS), default=0.0)

    @property
    def stems_open(self) -> float:
        """The widest gap along stems."""
        return max((s.largest for s in self.fit.seams if s.line in STEMS), default=0.0)

    @property
    def frames_off(self) -> float:
        """The most a frame or transom stands off the planks or reaches into them."""
        return max((f.largest for f in self.fit.frames), default=0.0)

    @property
    def strained(self) -> bool:
        """Whether a plank had to be laid flat with strain."""
        return any(bool(np.any(plank.strain_along > 0.0)) for plank in self.planking.planks)

    @property
    def stops(self) -> set[str]:
        """Codes of what forbids cutting, too tight a bend left out: that is the drawing's."""
        grave = {f.code for f in self.findings if f.severity is Severity.STOP}
        return grave - {"tight-bend"}


def worked(project: Project) -> Worked:
    """Table, lines, planking, parts and dry fit, as the program goes through them."""
    table = read_table(conversion.typed_table(project), conversion.conventions(project))
    lines = fair_lines(table, conversion.fairing_settings(project))
    planking = plank_hull(lines, conversion.planking_settings(project))
    settings = conversion.parts_settings(project)
    fittings = conversion.fittings_settings(project)
    parts = fit_out(planking, make_parts(planking, settings), settings, fittings)
    fit = fit_parts(planking, parts)
    findings = (*table.findings, *lines.findings, *planking.findings, *parts.findings)
    return Worked(planking, parts, fit, findings)
