"""The eight steps of the work, each figures beside drawing."""

from app.desktop.desk import Desk
from app.desktop.steps.base import Step
from app.desktop.study import BoatStudy


def all_steps(desk: Desk, study: BoatStudy) -> list[Step]:
    """The steps in the order of the work."""
    from app.desktop.steps.afloat import AfloatStep
    from app.desktop.steps.lines import LinesStep
    from app.desktop.steps.marking import MarkingStep
    from app.desktop.steps.parts import PartsStep
    from app.desktop.steps.plan_sheet import PlanSheetStep
    from app.desktop.steps.planking import PlankingStep
    from app.desktop.steps.sheets import SheetsStep
    from app.desktop.steps.stores import StoresStep

    return [
        PlanSheetStep(desk),
        LinesStep(desk),
        PlankingStep(desk),
        PartsStep(desk),
        SheetsStep(desk, study),
        MarkingStep(desk, study),
        AfloatStep(desk),
        StoresStep(desk, study),
    ]
