"""Boats of flat panels: how long springing takes, and how near a drawn hull comes back."""

import time
from collections.abc import Iterator
from dataclasses import replace


def figures() -> Iterator[tuple[str, float, str]]:
    from app.pipeline import Pipeline, Stage
    from app.project.samples import load_sample
    from lofting.dryfit import panel_boat
    from lofting.dryfit.sprung import spring_together
    from tests.unit.test_sprung import breadth_off, off_by, plan_of, sticks_at

    plan = Pipeline().run(load_sample("shed_dory"), Stage.PARTS, mending=False).panel_plan
    begin = time.perf_counter()
    dory = panel_boat(plan).sprung
    yield "shed_dory sprung together", round(time.perf_counter() - begin, 2), "s"
    yield "shed_dory: strain", round(100 * max(p.strain_rms for p in dory.panels), 4), "%"
    yield "shed_dory: largest gap", round(dory.largest_gap, 2), "mm"

    planking = Pipeline().run(load_sample("lake_skiff"), Stage.PLANKING).planking
    for frames in ((1400.0, 2800.0), (700.0, 1500.0, 2900.0)):
        flat = plan_of(planking, frames)
        begin = time.perf_counter()
        sprung = spring_together(flat)
        took = time.perf_counter() - begin
        where = f"lake_skiff from her flats, frames at {', '.join(f'{x:g}' for x in frames)}"
        yield f"{where}: took", round(took, 2), "s"
        for line, off in off_by(sprung, planking).items():
            yield f"{where}: {line} off by", round(off, 2), "mm"

    flat = plan_of(planking, (1400.0, 2800.0))
    for shares in ((), (0.15,), (0.1, 0.2), (0.1, 0.2, 0.6, 0.85)):
        sticks = sticks_at(planking, shares)
        sprung = spring_together(replace(flat, spreaders=sticks))
        where = f"lake_skiff, spreaders at {', '.join(f'{s:g}' for s in shares) or 'none'}"
        off = round(breadth_off(sprung, planking), 2)
        yield f"{where}: half-breadths of the sheer off by, aft of a tenth", off, "mm"
        held = [abs(2.0 * s.place[1] - s.length) for s in sprung.spreaders]
        yield f"{where}: lengths kept within", round(max(held, default=0.0), 6), "mm"
        push = [abs(s.push) for s in sprung.spreaders]
        yield f"{where}: hardest pressed", round(max(push, default=0.0), 0), "N"
