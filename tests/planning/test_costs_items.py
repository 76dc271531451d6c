"""What stands on an estimate, line by line, and what is said not to."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from priced_examples import need, rates

from planning.costs.items import fitting_priced, labour_priced, materials_priced, total
from planning.costs.model import Charged, MaterialPrice, Per
from planning.materials.model import Package, PickLine, Pieces, Recipe, RecipePart, Strip


def priced(needs, **prices):
    charged = rates(materials={name.replace("_", "-"): price for name, price in prices.items()})
    return materials_priced(needs, charged)


def amounts(found):
    return {item.what: (item.quantity, item.unit, item.amount) for item in found.items}


def test_labour_is_hours_times_rate():
    charged = rates(labour_per_hour={"body": Decimal("62.00"), "refinish": Decimal("62.55")})
    found = labour_priced({"body": 1.3, "refinish": 0.1}, charged)
    assert amounts(found) == {
        "body": (Decimal("1.3"), "hour", Decimal("80.60")),
        "refinish": (Decimal("0.1"), "hour", Decimal("6.26")),
    }
    assert total(found.items, "USD") == Decimal("86.86")


def test_labour_without_a_rate_is_named_not_guessed():
    found = labour_priced({"body": 1.3, "refinish": 0.4}, rates(labour_per_hour={"body": Decimal(50)}))
    assert total(found.items, "USD") == Decimal("65.00")
    assert found.gaps == ("refinish labour: 0.4 h without a rate",)


def test_hours_of_fitting_are_rounded_up_to_tenths():
    found = fitting_priced({"body": 1.01}, rates(), "fitting")
    assert amounts(found) == {"body": (Decimal("1.1"), "hour", Decimal("66.00"))}
    assert fitting_priced(None, rates(), "fitting").gaps == ("fitting",)


def test_without_any_price_of_a_material_all_of_them_are_left_out():
    assert materials_priced([need("tape")], rates()).gaps == ("materials",)


def test_a_material_without_a_price_is_named():
    found = priced([need("tape"), need("primer", quantity_ml=Decimal(250))], primer=litre("40.00"))
    assert found.gaps == ("tape: no price",)
    assert amounts(found) == {"primer": (Decimal("0.25"), "litre", Decimal("10.00"))}


def test_what_is_bought_is_paid_for_where_its_packages_are_known():
    bought = need("cleaner", quantity_ml=Decimal(264), packages=(Package(500, 1),), bought_ml=Decimal(500))
    assert amounts(priced([bought], cleaner=litre("9.20"))) == {
        "cleaner": (Decimal("0.5"), "litre", Decimal("4.60"))
    }
    by_use = rates(materials={"cleaner": litre("9.20")}, materials_charged=Charged.USED)
    assert amounts(materials_priced([bought], by_use)) == {
        "cleaner": (Decimal("0.264"), "litre", Decimal("2.43"))
    }
    by_package = priced([bought], cleaner=MaterialPrice(Decimal("5.00"), Per.PACKAGE))
    assert amounts(by_package) == {"cleaner": (1, "package", Decimal("5.00"))}


def test_a_package_of_the_shops_own_size_goes_by_that_size():
    cleaner = need("cleaner", quantity_ml=Decimal(264), packages=(Package(500, 1),))
    price = MaterialPrice(Decimal("1.50"), Per.PACKAGE, package_ml=100)
    assert amounts(priced([cleaner], cleaner=price)) == {"cleaner": (3, "package", Decimal("4.50"))}


def test_packages_of_several_sizes_have_no_price_in_common():
    mixed = need("cleaner", quantity_ml=Decimal(1200), packages=(Package(1000, 1), Package(250, 1)))
    found = priced([mixed], cleaner=MaterialPrice(Decimal("5.00"), Per.PACKAGE))
    assert found.items == ()
    assert found.gaps == ("cleaner: its price is for a package, and how many it takes is not reckoned",)


def test_pieces_and_lengths_are_counted_over_all_stages():
    disc = need("disc", pieces=(Pieces(2, "P80"), Pieces(1, "P180")))
    mesh = need("mesh", strips=(Strip("bond", 2, 150, 40), Strip("rear", 1, 200, 40)))
    found = priced(
        [disc, mesh],
        disc=MaterialPrice(Decimal("0.90"), Per.PIECE),
        mesh=MaterialPrice(Decimal("3.00"), Per.METRE),
    )
    assert amounts(found) == {
        "disc": (3, "piece", Decimal("2.70")),
        "mesh": (Decimal("0.5"), "metre", Decimal("1.50")),
    }


@pytest.mark.parametrize("per", Per)
def test_a_price_by_a_unit_that_is_not_reckoned_counts_nothing_and_is_named(per):
    found = priced([need("tape")], tape=MaterialPrice(Decimal(1), per))
    assert found.items == ()
    assert found.gaps[0].startswith(f"tape: its price is for a {per.value}")


def mixed_need(material, **components):
    parts = tuple(
        RecipePart(name, name, "base", 1.0, 1.0, Decimal(ml), Decimal(ml), Decimal(ml))
        for name, ml in components.items()
    )
    return need(
        material, quantity_ml=Decimal(sum(components.values())), recipe=Recipe(parts, *[Decimal(1)] * 2)
    )


def test_what_is_mixed_is_paid_for_as_its_components_where_these_have_prices():
    needs = [mixed_need("primer", base=200, hardener=50), mixed_need("clear", lacquer=200, hardener=100)]
    found = priced(needs, base=litre("30.00"), hardener=litre("80.00"), lacquer=litre("50.00"))
    assert amounts(found) == {
        "base": (Decimal("0.2"), "litre", Decimal("6.00")),
        "hardener": (Decimal("0.15"), "litre", Decimal("12.00")),
        "lacquer": (Decimal("0.2"), "litre", Decimal("10.00")),
    }


def test_components_are_paid_by_the_packages_of_the_pick_list():
    needs = [mixed_need("primer", base=200, hardener=50), need("hardener")]
    picked = PickLine(
        "base", "Base", ("prime",), Decimal(200), (Package(250, 1),), Decimal(50), pieces=(), strips=()
    )
    charged = rates(materials={"base": litre("40.00"), "hardener": litre("80.00")})
    assert amounts(materials_priced(needs, charged, [picked])) == {
        "base": (Decimal("0.25"), "litre", Decimal("10.00")),
        "hardener": (Decimal("0.05"), "litre", Decimal("4.00")),
    }


def test_a_price_of_the_mix_goes_before_those_of_its_components():
    found = priced([mixed_need("primer", base=200, hardener=50)], primer=litre("40.00"), base=litre("30.00"))
    assert amounts(found) == {"primer": (Decimal("0.25"), "litre", Decimal("10.00"))}
    half = priced([mixed_need("primer", base=200, hardener=50)], base=litre("30.00"))
    assert half.gaps == ("hardener: no price",)


def litre(price):
    return MaterialPrice(Decimal(price), Per.LITRE)


@given(
    st.lists(st.tuples(st.integers(0, 5000), st.decimals(0, 1000, places=4)), max_size=8),
    st.sampled_from(["USD", "JPY", "KWD"]),
)
def test_a_total_is_the_sum_of_its_lines_to_the_last_digit(bought, currency):
    needs = [need(f"m{at}", quantity_ml=Decimal(ml)) for at, (ml, _) in enumerate(bought)]
    prices = {f"m{at}": MaterialPrice(price, Per.LITRE) for at, (_, price) in enumerate(bought)}
    found = materials_priced(needs, rates(currency=currency, materials=prices or {"none": litre("1")}))
    assert total(found.items, currency) == sum(item.amount for item in found.items)
    assert len(found.items) + len(found.gaps) == len(needs)
