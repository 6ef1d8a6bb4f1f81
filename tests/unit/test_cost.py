"""What the stores cost: whole packs at typed prices."""

import csv
import io

import pytest

from app.papers.lists import stores_csv
from app.pipeline import Pipeline
from app.project.document import PriceChoice, Project, TimberChoice
from app.project.samples import load_sample
from app.worklists import stores_record
from lofting.stores import StoreLine, Stores, reckon_cost
from lofting.stores.packs import EPOXY_PACKS, TAPE_ROLLS, held, unit_of

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


def test_two_timbers_of_one_name_are_paid_for_by_their_own_length() -> None:
    """By hand: at 2 a metre 4.2 m cost 8.40 and 1.2 m 2.40."""
    project = load_sample("stone_punt")
    sheets = project.sheets.model_copy(update={"seconds": 1.0, "tries": 20})
    rail = TimberChoice(name="rail", width=25, height=35, line="sheer", sides=1)
    short = rail.model_copy(update={"line": "", "length": 1000.0})
    prices = (PriceChoice(item="timber 25 x 35 mm, rail", price=2.0),)
    changed = {"sheets": sheets, "timbers": (rail, short), "prices": prices}
    boat = Pipeline().run(project.model_copy(update=changed))
    rows = [r for r in csv.DictReader(io.StringIO(stores_csv(boat))) if "rail" in r["item"]]
    assert [row["cost"] for row in rows] == ["8.40", "2.40"]
    told = [line["cost"] for line in stores_record(boat) if "rail" in str(line["item"])]
    assert told == [8.4, 2.4]


def test_the_sum_is_that_of_the_figures_shown() -> None:
    """By hand: 3 x 0.335 and 7 x 0.335 are 1.005 and 2.345; each is shown to the hundredth."""
    lines = tuple(StoreLine(f"nails {n:g}", n, "pieces", "", "", n) for n in (3.0, 7.0))
    cost = reckon_cost(Stores(lines), {"nails 3": 0.335, "nails 7": 0.335})
    assert f"{cost.total:.2f}" == f"{sum(float(f'{line.cost:.2f}') for line in cost.lines):.2f}"


def test_an_own_price_of_a_sheet_stands_alone() -> None:
    """The stock says 68 a sheet: where another price is typed no line tells both."""
    project = load_sample("stone_punt")
    sheets = project.sheets.model_copy(update={"seconds": 1.0, "tries": 20})
    first = Pipeline().run(project.model_copy(update={"sheets": sheets}))
    line = first.stores.lines[0]
    assert (line.unit, line.price) == ("sheets", 68.0)
    prices = (PriceChoice(item=line.item, price=50.0),)
    boat = Pipeline().run(project.model_copy(update={"sheets": sheets, "prices": prices}))
    row = next(csv.DictReader(io.StringIO(stores_csv(boat))))
    assert float(row["cost"]) == 50.0 * line.bought
    assert "in all" not in row["to_buy"]


def test_one_of_a_thing_is_told_as_one() -> None:
    project = load_sample("stone_punt")
    sheets = project.sheets.model_copy(update={"seconds": 1.0, "tries": 20})

    def stores(**finish: int):
        changed = project.finish.model_copy(update=finish)
        run = Pipeline().run(project.model_copy(update={"sheets": sheets, "finish": changed}))
        return {line.item: line for line in run.stores.lines}

    one = stores(coats=1, paint_coats=1)
    assert one["epoxy, mixed"].rule.startswith("1 coat on")
    assert one["paint or varnish"].rule.startswith("1 coat on")
    assert stores(coats=9)["nitrile gloves"].to_buy == "2 boxes of 50 pairs"
    assert (unit_of(1.0, "sheets"), unit_of(2.0, "sheets"), unit_of(1.0, "kg")) == (
        "sheet",
        "sheets",
        "kg",
    )
