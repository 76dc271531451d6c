"""Rule packs of any size, as the text an author would write; the same ones in every run."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

CHOICES, FLAGS, AMOUNTS, DERIVED = 12, 6, 6, 4
CUTS = (10, 20, 50)
RULES_A_FILE = 250

_HEADER = """\
pack:
  {name: synthetic, version: 1.0.0, title: Made by chance, effective_from: 2026-01-01, effective_until: null}
phases: [clean]
resources: [bench]
labour: [body]
"""
_STAGES = """\
stages:
  - {id: wash, title: Wash, phase: clean, resource: bench, labour: body, instructions: [Wash it.],
     work: {fixed_min: 5}, materials: [cleaner], cautions: [wet-floor], source: invented}
"""
_OTHERS = """\
materials:
  - {id: cleaner, title: Cleaner, kind: consumable, source: invented}
cautions:
  - {id: wet-floor, title: Wet floor, signal: notice, hazard: It is slippery., protect: A drain.,
     first_measure: Get up., defer: Local codes prevail., source: invented}
"""
_SUBSTRATES = """\
substrates:
  - {symbol: PP, name: Polypropylene, properties: {low_energy: true}, source: invented}
  - {symbol: ABS, name: ABS, properties: {low_energy: false}, source: invented}
"""


def synthetic_files(rules: int, seed: int = 20417) -> dict[str, str]:
    """The files of a pack with so many rules in three layers: half conclude, some require, one decides."""
    random = Random(seed)
    written = [_decides(), *(_rule(random, number) for number in range(rules - 1))]
    parts = range(0, rules, RULES_A_FILE)
    return {
        "pack.yaml": _HEADER,
        "facts.yaml": _facts(),
        "substrates.yaml": _SUBSTRATES,
        "stages.yaml": _STAGES,
        "others.yaml": _OTHERS,
        **{
            f"rules/{part:05}.yaml": "rules:\n" + "".join(written[part : part + RULES_A_FILE])
            for part in parts
        },
    }


def _facts() -> str:
    fixed = "about: Invented., given_as: /part"
    lines = [
        *(
            f"choice_{number}: {{kind: enumeration, values: {{a: A., b: B., c: C., d: D.}}, "
            f"{fixed}/choice_{number}}}"
            for number in range(CHOICES)
        ),
        *(
            f"flag_{number}: {{kind: boolean, default: false, {fixed}/features/flag_{number}}}"
            for number in range(FLAGS)
        ),
        *(
            f"amount_{number}: {{kind: number, unit: mm, minimum: 0, maximum: 100, cut_points: {list(CUTS)}, "
            f"{fixed}/amount_{number}}}"
            for number in range(AMOUNTS)
        ),
        "low_energy: {about: Invented., kind: boolean, origin: substrate}",
        *(
            f"{name}: {{about: Invented., kind: boolean, origin: rules, default: false}}"
            for layer in range(2)
            for name in _derived(layer)
        ),
    ]
    return "facts:\n" + "".join(f"  {line}\n" for line in lines)


def _derived(layer: int) -> list[str]:
    return [f"derived_{layer}_{number}" for number in range(DERIVED)]


def _decides() -> str:
    effect = "decide: {disposition: repair, reason: It can be done.}, require: [wash]"
    return f"  - {{id: repairs, when: always, {effect}, why: Invented., source: invented}}\n"


def _rule(random: Random, number: int) -> str:
    layer = random.randrange(3)
    tests = dict(_test(random, layer) for _ in range(random.randrange(2, 5)))
    when = ", ".join(f"{fact}: {test}" for fact, test in tests.items())
    effect = f"conclude: {{{random.choice(_derived(layer))}: true}}" if layer < 2 else "require: [wash]"
    return f"  - {{id: rule-{number}, when: {{{when}}}, {effect}, why: Invented., source: invented}}\n"


def _test(random: Random, layer: int) -> tuple[str, str]:
    """A test of a fact that is given, or that a lower layer concludes."""
    kind = random.choice(("choice", "choice", "flag", "amount", *(["derived"] if layer else [])))
    if kind == "choice":
        members = random.sample("abcd", random.randrange(1, 3))
        return f"choice_{random.randrange(CHOICES)}", random.choice(
            (_listed(members), f"{{not: {_listed(members)}}}")
        )
    if kind == "amount":
        return f"amount_{random.randrange(AMOUNTS)}", f"{{at_least: {random.choice(CUTS)}}}"
    name = (
        f"flag_{random.randrange(FLAGS)}"
        if kind == "flag"
        else random.choice(_derived(random.randrange(layer)))
    )
    return name, random.choice(("true", "false"))


def _listed(members: Sequence[str]) -> str:
    return f"[{', '.join(members)}]"
