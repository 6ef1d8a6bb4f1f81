"""Boats of flat panels: how long springing takes, and how near a drawn hull comes back."""

import time
from collections.abc import Iterator


def figures() -> Iterator[tuple[str, float, str]]:
    from app.pipeline import Pipeline, Stage
    from app.project.samples import load_sample
    from lofting.dryfit import panel_boat
    from lofting.dryfit.sprung import spring_together
    from tests.unit.test_sprung import off_by, plan_of

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
