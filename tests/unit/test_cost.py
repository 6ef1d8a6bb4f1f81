"""What the stores cost: whole packs at typed prices."""

import csv
import io

import pytest

from app.papers.lists import stores_csv
from app.pipeline import Pipeline
from app.project.document import PriceChoice, Project
from app.project.samples import load_sample
from lofting.stores import StoreLine, Stores, reckon_cost
from lofting.stores.packs import EPOXY_PACKS, TAPE_ROLLS, held

LIST = Stores(
    (
        StoreLine("plywood", 4.0, "sheets", "", "4 sheets", 4.0, 68.0),
        StoreLine("epoxy, mixed", 8.2, "kg", "", "", 9.0),
        StoreLine("epoxy resin", 5.7, "kg", ""),
        StoreLine("gloves", 28.0, "pairs", "", "", 50.0),
    )
)


def test_whole_packs_are_paid_for() -> None:
    """By hand: 8.2 kg take six and three kilograms; 21 m of tape a roll of 25."""
    assert held(8.2, EPOXY_PACKS) == pytest.approx(9.0)
    assert held(21.0, TAPE_ROLLS) == pytest.approx(25.0)


def test_cost_by_hand() -> None:
    cost = reckon_cost(LIST, {"epoxy, mixed": 25.0, "oars": 80.0})
    assert [line.item for line in cost.lines] == ["plywood", "epoxy, mixed", "gloves"]
    assert cost.total == pytest.approx(4 * 68.0 + 9 * 25.0)
    assert cost.unpriced == ("gloves",)
    assert cost.said.startswith("The stores cost 497.00 for 2 of 3 things to buy")
    assert reckon_cost(LIST, {"plywood": 70.0}).lines[0].cost == pytest.approx(280.0)
    assert "all that is to buy" in reckon_cost(LIST, {"epoxy, mixed": 1.0, "gloves": 0.0}).said
    assert reckon_cost(Stores(LIST.lines[2:]), {}).said == ""


def test_the_list_tells_prices_and_its_sum() -> None:
    project = load_sample("stone_punt")
    sheets = project.sheets.model_copy(update={"seconds": 1.0, "tries": 20})
    prices = (PriceChoice(item="epoxy, mixed", price=24.0),)
    boat = Pipeline().run(project.model_copy(update={"sheets": sheets, "prices": prices}))
    rows = {row["item"]: row for row in csv.DictReader(io.StringIO(stores_csv(boat)))}
    line = next(line for line in boat.stores.lines if line.item == "epoxy, mixed")
    assert line.bought >= line.quantity - 0.005
    assert float(rows["epoxy, mixed"]["cost"]) == pytest.approx(24.0 * line.bought, abs=0.005)
    assert rows["epoxy resin"]["cost"] == ""
    assert boat.cost.total == pytest.approx(
        sum(float(row["cost"]) for row in rows.values() if row["cost"]), abs=0.05
    )
    for line in boat.stores.lines:
        assert line.bought == 0.0 or line.bought >= line.quantity - 0.01, line.item


def test_a_price_below_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="greater than or equal"):
        Project(prices=({"item": "paint", "price": -1.0},))
