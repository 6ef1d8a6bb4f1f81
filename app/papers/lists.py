"""The shopping list, the work in its order and the figures afloat as CSV."""

import csv
import io
from math import degrees

from app.pipeline import Boat


def stores_csv(boat: Boat) -> str:
    """The shopping list as CSV: item, quantity, unit, to buy, price of a unit, cost, rule."""
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(("item", "quantity", "unit", "to_buy", "price", "cost", "rule"))
    for line in boat.stores.lines if boat.stores is not None else ():
        known = None if boat.cost is None else boat.cost.beside(line)
        price = "" if known is None or known.price is None else f"{known.price:.2f}"
        cost = "" if known is None or known.cost is None else f"{known.cost:.2f}"
        figures = (line.item, f"{line.quantity:.3f}", line.unit, line.to_buy, price, cost)
        rows.writerow((*figures, line.rule))
    return out.getvalue()


def work_csv(boat: Boat) -> str:
    """The work in its order as CSV: hours, days, waits and the rule behind the hours."""
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(("task", "what", "hours", "begin", "end", "goes", "then_wait", "rule"))
    work = boat.work
    if work is None:
        return out.getvalue()
    for done in work.done:
        begin, end = work.when(done.begin), work.when(done.end)
        task = done.task
        hours = f"{done.hours:.2f}"
        rows.writerow((task.key, task.what, hours, begin, end, task.goes, done.waits, task.rule))
    return out.getvalue()


def afloat_csv(boat: Boat) -> str:
    """Load cases and righting levers as CSV; guidance, never a certificate."""
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(
        ("load_case", "mass_kg", "draught_mm", "trim_deg", "heel_deg", "freeboard_mm", "gm_mm")
    )
    cases = boat.afloat.cases if boat.afloat is not None else ()
    for case in cases:
        a = case.attitude
        figures = (a.draught, degrees(a.trim), degrees(a.heel), a.freeboard, a.gm_transverse)
        rows.writerow((case.case.name, f"{case.mass:.1f}", *(f"{f:.2f}" for f in figures)))
    rows.writerow(())
    rows.writerow(("load_case", "heel_deg", "righting_lever_mm"))
    for case in cases:
        for heel, lever in zip(case.heel_angles, case.righting, strict=True):
            rows.writerow((case.case.name, f"{degrees(heel):.1f}", f"{lever:.2f}"))
    return out.getvalue()
