"""Things that a pack declares and never uses.

Only things of the uppermost pack are looked at: what an overlay leaves unused of the pack below is
nobody's fault.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from rules.conditions import facts_read
from rules.findings import Finding
from rules.pack import Caution, Material, Pack, Stage
from rules.vocabulary import Fact, Origin


def unused(pack: Pack, cautions_of_tests: Collection[str] = ()) -> Iterator[Finding]:
    """Derived facts, stages, cautions and materials that come to nothing.

    `cautions_of_tests` are cautions that bench tests carry, beside those of rules, stages and jurisdictions.
    """
    rules, stages = pack.rules.values(), pack.stages.values()
    derived = {fact.name: fact for fact in pack.vocabulary.from_origin(Origin.RULES)}
    concluded = {fact for rule in rules for fact in rule.conclude}
    read = {fact for rule in rules for fact in facts_read(rule.when)}
    required = {stage for rule in rules for stage in rule.require}
    warned = {caution for rule in rules for caution in rule.cautions}.union(cautions_of_tests)
    warned |= {caution for stage in stages for caution in stage.cautions}
    warned |= {caution for each in pack.jurisdictions.values() for caution in each.cautions}
    used = {material for stage in stages for material in stage.materials}
    used.update(each.alternative for each in pack.materials.values() if each.alternative)
    words = {word for rule in rules for word in rule.settings.values()}
    words |= {word for stage in stages for word in stage.parameters.values()}
    used.update(each.id for each in pack.materials.values() if each.called in words)
    yield from _without_user(pack, "R204", derived, concluded, "no rule concludes the fact")
    yield from _without_user(pack, "R205", derived, read, "no rule reads the fact")
    yield from _without_user(pack, "R206", pack.stages, required, "no rule requires the stage")
    told = "no rule, stage, jurisdiction or test has the caution"
    yield from _without_user(pack, "R207", pack.cautions, warned, told)
    yield from _without_user(pack, "R208", pack.materials, used, "no stage uses the material")


def _without_user(
    pack: Pack,
    code: str,
    things: Mapping[str, Fact | Stage | Caution | Material],
    users: Collection[str],
    told: str,
) -> Iterator[Finding]:
    for name, thing in things.items():
        if name not in users and thing.place.pack == pack.name:
            yield Finding(code, thing.place, f"{told} '{name}'; let one, or delete it")
