"""Suspect figures: cells the table is better explained without, and what was probably meant."""

from lofting.offsets import Conventions, OffsetTable
from lofting.slips.meant import figure_step
from lofting.slips.proof import put_to_proof, rows_of
from lofting.slips.report import STATIONS, report
from lofting.slips.result import Candidate, CornerHere, Slips, Suspect
from lofting.slips.search import search

__all__ = ["STATIONS", "Candidate", "CornerHere", "Slips", "Suspect", "find_slips"]


def find_slips(table: OffsetTable, conventions: Conventions) -> Slips:
    """Look for figures that the rest of the table contradicts.

    Every row (one coordinate along one line) is explained as a smooth function of x seen through
    the noise of rounding and drawing, which is one for the whole table; a figure is suspect where
    the table is better explained with that figure wrong. Figures exchanged, rows shifted by a
    station and stations at a wrong distance are weighed as explanations beside single slips. What
    was meant is ranked by how well it suits the batten and how common the slip is. Method: see
    `smoothness` and `proof` (Wahba 1990; Rasmussen and Williams 2006).

    Args:
        table: as read; blanks and unreadable cells are left out.
        conventions: how the plan measures and writes.

    Returns:
        Suspects, strongest first, with one finding each; none where a table has too few figures.
    """
    rows = rows_of(table)
    if not rows:
        return Slips(())
    texts = [text for row in rows for text in row.texts]
    step = figure_step(texts, conventions.notation)
    proof = put_to_proof(rows, step)
    return report(search(proof, table, conventions, step), step)
