"""What the summary tells of weights, stores and time, as plain figures."""

from app.pipeline import Boat


def rounded(value: float, places: int = 6) -> float | None:
    """A figure for JSON: rounded, and None where it is not finite (JSON knows no infinity)."""
    value = float(value)
    if value != value or value in (float("inf"), float("-inf")):
        return None
    return round(value, places)


def weight_record(boat: Boat) -> dict[str, object]:
    """The weight of the empty boat, kg, and where it lies."""
    if boat.weights is None:
        return {}
    w = boat.weights
    return {
        "total_kg": rounded(w.mass, 3),
        "predicted_kg": None if boat.predicted is None else rounded(boat.predicted.mass, 3),
        # flat panels that are not folded have no place in the boat
        "lcg_mm": None if boat.shape_planking is None else rounded(w.centre[0], 1),
        "vcg_mm": None if boat.shape_planking is None else rounded(w.centre[2], 1),
        "by_group": {name: rounded(mass, 3) for name, mass in w.by_group().items()},
    }


def stores_record(boat: Boat) -> list[dict[str, object]]:
    """The shopping list."""
    if boat.stores is None or boat.cost is None:
        return []
    costs = [(line, boat.cost.beside(line)) for line in boat.stores.lines]
    return [
        {
            "item": s.item,
            "quantity": rounded(s.quantity),
            "unit": s.unit,
            "rule": s.rule,
            "to_buy": s.to_buy,
            "bought": rounded(s.bought, 3),
            "price": None if cost is None else cost.price,
            "cost": None if cost is None else cost.cost,
        }
        for s, cost in costs
    ]


def cost_record(boat: Boat) -> dict[str, object]:
    """What the stores cost, and what has no price yet."""
    if boat.cost is None:
        return {}
    return {"total": rounded(boat.cost.total, 2), "unpriced": list(boat.cost.unpriced)}


def work_record(boat: Boat) -> dict[str, object]:
    """The work in its order, hours and days."""
    if boat.work is None:
        return {}
    work = boat.work
    low, high = work.between
    return {
        "hours": rounded(work.hours, 2),
        "hours_practised": rounded(low, 2),
        "hours_first_boat": rounded(high, 2),
        "days_worked": work.days,
        "days_in_all": work.length,
        "tasks": [
            {
                "task": done.task.key,
                "what": done.task.what,
                "hours": rounded(done.hours, 2),
                "rule": done.task.rule,
                "begin": work.when(done.begin),
                "end": work.when(done.end),
                "goes": done.task.goes,
                "hours_between_goes": rounded(done.between, 1),
                "hours_to_wait": rounded(done.wait, 1),
            }
            for done in work.done
        ],
    }
