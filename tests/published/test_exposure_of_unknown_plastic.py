"""An unknown plastic is warned of for all that any plastic can set free. Common practice, no source."""

import pytest
from plastics_data import base_pack

from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.intake import complete


def dust_and_fumes(symbol: str, damage_type: str) -> set[str]:
    """Cautions of fumes and of fibre for a damage of 80 mm to a factory-finished part."""
    pack = base_pack()
    given = {"condition": "factory_finish", "damage_type": damage_type, "damage_length_mm": 80}
    facts = complete(pack, pack.substrates[symbol], given)
    cautions = Decider(pack, ReferenceEngine(pack)).decide(facts.values).cautions
    return {caution for caution in cautions if caution.endswith(("-fumes", "-fibre-dust"))}


@pytest.mark.parametrize("damage_type", ["scratch", "gouge", "crack"])
def test_an_unknown_plastic_carries_the_cautions_of_every_plastic(damage_type: str) -> None:
    pack = base_pack()
    referred = {
        symbol for symbol, row in pack.substrates.items() if row.properties["repairability"] == "refer"
    }
    of_any = set().union(
        *(dust_and_fumes(symbol, damage_type) for symbol in pack.substrates.keys() - referred)
    )
    assert of_any
    assert of_any <= dust_and_fumes("unknown", damage_type)
