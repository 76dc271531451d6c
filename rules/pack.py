"""A loaded rule pack: rules, stages, cautions, materials and substrates, each with its place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import Enum

from rules.amounts import Amount, Loss
from rules.conditions import Condition, Value
from rules.jurisdictions import CoatingRole, Jurisdiction
from rules.kinetics import ByFilm, ByHumidity, ByTemperature, Heat, PotLife
from rules.places import NOWHERE, Place
from rules.policies import Policy
from rules.vocabulary import Vocabulary

ParameterValue = str | bool | float


class Disposition(Enum):
    """What is to be done with the part."""

    REPAIR = "repair"
    REPLACE = "replace"
    REFER = "refer"


@dataclass(frozen=True)
class Decide:
    """A disposition and the reason that people are shown."""

    disposition: Disposition
    reason: str


@dataclass(frozen=True)
class Rule:
    """When `when` holds, the effects are added to the decision.

    `settings` maps (stage, parameter) to a value. `overrides` names rules whose conflicting
    `conclude`, `set` and `decide` give way when both fire.
    """

    id: str
    when: Condition
    why: str
    source: str
    conclude: Mapping[str, Value] = field(default_factory=dict)
    require: tuple[str, ...] = ()
    settings: Mapping[tuple[str, str], ParameterValue] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    decide: Decide | None = None
    overrides: tuple[str, ...] = ()
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True)
class Work:
    """Hands-on time of a stage, as the median of a lognormal distribution.

    Median minutes = passes x (fixed_min + per_m2_min x area + per_dm_min x damage length in dm,
    each times the damage count, for coats: times coats). `spread` is the sigma of the logarithm.
    Of `fixed_min`, `applying_min` are spent applying what is mixed; the rest is setting up.
    `harder` maps a fact to the factors, 1 or more, by which its values (`true` for a truth value)
    lengthen what goes by area and length; a value that is not there lengthens nothing.
    """

    fixed_min: float
    per_m2_min: float = 0.0
    per_dm_min: float = 0.0
    spread: float = 0.25
    harder: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    applying_min: float = 0.0


class Kinetics(Enum):
    """How a waiting time depends on temperature."""

    FIXED = "fixed"
    EVAPORATION = "evaporation"
    CURE = "cure"


@dataclass(frozen=True)
class Wait:
    """Time after the work of a stage before any stage that depends on it may start.

    `minutes` holds at `at_c`; `kinetics` with `activation_kj_per_mol` scales it to another
    temperature inside `valid_from_c` .. `valid_to_c`. What a wait does not say of film and humidity, the
    classes of material say that the stage uses. `heat` is for a wait that is spent in a bake.
    """

    minutes: float
    at_c: float = 20.0
    kinetics: Kinetics = Kinetics.FIXED
    activation_kj_per_mol: float = 0.0
    valid_from_c: float = 15.0
    valid_to_c: float = 35.0
    by_film: ByFilm | None = None
    by_humidity: ByHumidity | None = None
    heat: Heat | None = None

    @property
    def by_temperature(self) -> ByTemperature | None:
        """How the wait goes by temperature; None for one that is fixed."""
        if self.kinetics is Kinetics.FIXED:
            return None
        return ByTemperature(self.at_c, self.activation_kj_per_mol, self.valid_from_c, self.valid_to_c)


@dataclass(frozen=True)
class Window:
    """After this stage ends, the first stage of `to` that follows starts inside these minutes.

    `not_after_min` None means no latest moment. `if_missed` names the stage to go back to. Both bounds go
    by the temperature of the air as `by_temperature` says; None: they don't.
    """

    to: tuple[str, ...]
    not_before_min: float
    not_after_min: float | None
    if_missed: str | None
    by_temperature: ByTemperature | None = None
    source: str = ""


@dataclass(frozen=True)
class Check:
    """How to tell that a stage succeeded, and what to do when it did not."""

    method: str
    accept: str
    otherwise: str


@dataclass(frozen=True)
class Climate:
    """What the place is once a stage has made it fit; None for what the stage leaves as it is.

    `dew_margin_k` is how far the surface is then above the dew point at least.
    """

    air_c: float | None = None
    surface_c: float | None = None
    humidity_pct: float | None = None
    dew_margin_k: float | None = None


@dataclass(frozen=True)
class Stage:
    """One unit of work from the stage catalogue.

    `after` names stages that come earlier whenever both are present. `instructions` may hold
    `{parameter}` placeholders. `parameters` are the settable values with their catalogue values;
    `from_substrate` maps a parameter to the substrate property that fixes it. `brings` is the climate
    that holds from the end of the stage on, None for a stage that does nothing about it. `amounts` say
    what the stage takes of materials that don't go by its area. Work that `may_pause` may be interrupted by
    a break of the day.
    """

    id: str
    title: str
    phase: str
    resource: str
    labour: str
    instructions: tuple[str, ...]
    work: Work
    wait: Wait
    source: str
    after: tuple[str, ...] = ()
    window: Window | None = None
    parameters: Mapping[str, ParameterValue] = field(default_factory=dict)
    from_substrate: Mapping[str, str] = field(default_factory=dict)
    materials: tuple[str, ...] = ()
    check: Check | None = None
    cautions: tuple[str, ...] = ()
    brings: Climate | None = None
    amounts: tuple[Amount, ...] = ()
    may_pause: bool = False
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True)
class Caution:
    """What can hurt the person, what protects, what to do first, and to whom it defers."""

    id: str
    title: str
    signal: str
    hazard: str
    protect: str
    first_measure: str
    defer: str
    source: str
    ghs: tuple[str, ...] = ()
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True)
class Application:
    """The place in which a material may be applied: lowest and highest values, both still good.

    The surface is at least `dew_margin_k` above the dew point of the air.
    """

    air_c: tuple[float, float]
    surface_c: tuple[float, float]
    humidity_pct: tuple[float, float]
    dew_margin_k: float
    source: str


@dataclass(frozen=True)
class Component:
    """One thing that is mixed into a material, in parts by volume.

    `role` is `base`, `additive`, `hardener` or `reducer`. `voc_g_per_l` counts the volatile organic
    compounds in a litre of it, exempt compounds left out; `water_pct` and `exempt_pct` are % by volume.
    `only_with` names the stage without which it is left out. `packages_ml` are the sizes it is bought in.
    """

    id: str
    title: str
    parts: float
    density_g_per_ml: float
    voc_g_per_l: float
    role: str
    water_pct: float = 0.0
    exempt_pct: float = 0.0
    exempt_density_g_per_ml: float | None = None
    only_with: str | None = None
    packages_ml: tuple[float, ...] = ()


@dataclass(frozen=True)
class Material:
    """A class of consumable, never a product.

    `kind` is `coating`, `filler`, `cleaner` or `consumable`. Coatings and cleaners carry what
    their arithmetic needs; the other figures are None. `voc_g_per_l` and `density_g_per_ml` of what is mixed
    follow from `mix`, without components that not every procedure joins; `alternative` names a class for
    the same use that sets less free. `called` is how parameters of stages call for a cleaner in the place
    of the usual one. `lasts_cm2` is what one piece does; what is `graded` comes in the grades of abrasives.
    `by_film` and `by_humidity` are
    what the waits of the stages that use it go by beside temperature, where these do not say so themselves.
    """

    id: str
    title: str
    kind: str
    source: str
    film_um: float | None = None
    volume_solids_pct: float | None = None
    transfer_efficiency_pct: float | None = None
    voc_g_per_l: float | None = None
    use_ml_per_m2: float | None = None
    coating_role: CoatingRole | None = None
    mix: tuple[Component, ...] = ()
    alternative: str | None = None
    application: Application | None = None
    by_film: ByFilm | None = None
    by_humidity: ByHumidity | None = None
    pot_life: PotLife | None = None
    density_g_per_ml: float | None = None
    packages_ml: tuple[float, ...] = ()
    lasts_cm2: float | None = None
    graded: bool = False
    losses: tuple[Loss, ...] = ()
    called: str | None = None
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True)
class Figure:
    """A measured property as a range, with its evidence (a source, `common practice`, `from memory`)."""

    low: float
    high: float
    evidence: str


SUBSTRATE_FIGURES = (
    "density_g_per_cm3",
    "flexural_modulus_mpa",
    "surface_energy_mn_per_m",
    "glass_transition_c",
    "melting_c",
    "heat_deflection_c",
)
"""The figures that a row of the property table may give."""


@dataclass(frozen=True)
class Substrate:
    """One row of the property table.

    `properties` gives every fact whose origin is the substrate; `figures` the measured ranges.
    """

    symbol: str
    name: str
    properties: Mapping[str, Value]
    aliases: tuple[str, ...] = ()
    typical_parts: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    figures: Mapping[str, Figure] = field(default_factory=dict)
    source: str = ""
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True)
class Pack:
    """A whole pack, overlays laid on. `digest` covers every byte of every file.

    `phases`, `resources` and `labour` are the ordered closed lists the stages draw on.
    `files` are the texts it was loaded from, by pack name and path, enough to load it again.
    `withdrawn` maps a rule id that an overlay took out to the place and the reason.
    """

    name: str
    version: str
    title: str
    digest: str
    effective_from: date
    effective_until: date | None
    vocabulary: Vocabulary
    phases: tuple[str, ...]
    resources: tuple[str, ...]
    labour: tuple[str, ...]
    rules: Mapping[str, Rule]
    stages: Mapping[str, Stage]
    cautions: Mapping[str, Caution]
    materials: Mapping[str, Material]
    substrates: Mapping[str, Substrate]
    layers: tuple[tuple[str, ...], ...]
    files: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    withdrawn: Mapping[str, tuple[Place, str]] = field(default_factory=dict)
    jurisdictions: Mapping[str, Jurisdiction] = field(default_factory=dict)
    policies: Mapping[str, Policy] = field(default_factory=dict)
