"""A procedure from what is remembered is the very procedure that is worked out afresh."""

from __future__ import annotations

import sys
from datetime import datetime, timedelta, timezone
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from planning.costs.model import Rates
from planning.learning.model import Learned
from planning.model import Procedure, Terms
from planning.pace import _pace
from planning.procedure import plan
from planning.template import _template
from planning.timing.calendar import Calendar, Hours
from rules.cache import DecisionCache
from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.intake import complete
from rules.loading import BASE_PACK, load_folder
from rules.pack import Pack

CALENDAR = Calendar("America/Chicago", (Hours(frozenset(range(6)), 450, 1080),))
START = datetime(2027, 3, 2, 8, 15, tzinfo=timezone(timedelta(hours=-6)))
PACK = load_folder(BASE_PACK)
DECIDER = Decider(PACK, ReferenceEngine(PACK), DecisionCache())

facts = st.fixed_dictionaries(
    {
        "damage_type": st.sampled_from(["gouge", "crack", "tear"]),
        "condition": st.just("factory_finish"),
        "damage_length_mm": st.floats(5, 150),
        "damage_depth_mm": st.floats(0.5, 3),
        "area_m2": st.floats(0.2, 3),
        "air_temperature_c": st.sampled_from([-0.0, 0.0, 12.0, 20.0, 31.5]),
        "surface_temperature_c": st.sampled_from([12.0, 20.0]),
        "relative_humidity_pct": st.sampled_from([40.0, 55.0, 85.0]),
    }
)
lessons = st.builds(Learned, st.floats(0.5, 2), st.floats(0.1, 0.5), st.sampled_from([3.0, 8.0]), st.just(4))
terms = st.builds(
    Terms,
    start_at=st.just(START) | st.just(START + timedelta(minutes=77)),
    rates=st.none() | st.just(Rates("USD", {"body": Decimal(62)})),
    calendar=st.none() | st.just(CALENDAR),
)


def procedure_of(
    pack: Pack, material: str, given_facts: dict[str, object], told: Terms, learned: dict[str, Learned]
) -> Procedure:
    substrate = pack.substrates[material]
    found = complete(pack, substrate, given_facts)
    return plan(pack, substrate, found, DECIDER.decide(found.values), told, learned)


def forget() -> None:
    """Clear everything that any part of planning remembers."""
    for name, module in list(sys.modules.items()):
        if name.startswith("planning."):
            for member in list(vars(module).values()):
                if hasattr(member, "cache_clear"):
                    member.cache_clear()


@settings(max_examples=30, deadline=None)
@given(
    st.sampled_from(["PP+EPDM-T20", "ABS"]),
    facts,
    facts,
    terms,
    st.dictionaries(st.sampled_from(sorted(PACK.stages)), lessons, max_size=8),
)
def test_what_is_remembered_changes_no_answer(material, one, other, told, learned):
    remembered = [procedure_of(PACK, material, each, told, learned) for each in (one, other, one)]
    for each, found in zip((one, other, one), remembered, strict=True):
        forget()
        assert repr(procedure_of(PACK, material, each, told, learned)) == repr(found)


def test_jobs_of_one_decision_share_their_template_and_in_one_air_their_pace():
    forget()
    given_facts = {
        "damage_type": "crack",
        "condition": "factory_finish",
        "damage_length_mm": 80.0,
        "damage_depth_mm": 2.0,
    }
    for area_m2 in (0.9, 1.1):
        procedure_of(PACK, "ABS", given_facts | {"area_m2": area_m2}, Terms(), {})
    assert (_template.cache_info().currsize, _template.cache_info().hits) == (1, 1)
    assert (_pace.cache_info().currsize, _pace.cache_info().hits) == (1, 1)
    procedure_of(PACK, "ABS", given_facts | {"air_temperature_c": 21.0}, Terms(), {})
    assert (_template.cache_info().currsize, _pace.cache_info().currsize) == (1, 2)
