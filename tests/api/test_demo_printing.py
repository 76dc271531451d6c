from typing import Any

from api.demo.printing import WIDTH, procedure_in_text


def document(**changed: Any) -> dict[str, Any]:
    """A procedure of two stages as the service answers it, as far as it is printed."""
    quantiles = {"p50": 95, "p80": 120, "p95": 150}
    whole = {
        "id": "pr-" + "0" * 32,
        "line_item": {"reference": "RO-1", "description": None},
        "part": {"name": "radiator grille", "material": "ABS"},
        "material": {"symbol": "ABS", "name": "Acrylonitrile butadiene styrene", "notes": []},
        "disposition": "repair",
        "reasons": [{"rule": "repair-what-is-safe", "text": "The part can be repaired."}],
        "assumptions": [
            {"fact": "texture", "value": "smooth", "pointer": "/part/texture"},
            {"fact": "through", "value": True, "pointer": "/damage/through"},
        ],
        "cautions": [
            caution("isocyanates", "danger", ["prime"]),
            caution("dust", "warning", ["sand", "prime"]),
        ],
        "stages": [
            stage(1, "sand", "Sand the surface", abrasive="P400"),
            stage(2, "prime", "Apply primer", wait_min=480, window={"sentence": "Start by 10:42."}),
        ],
        "timeline": {"start_at": None, "finish_at": None, "held": []},
        "materials": [],
        "pick_list": [],
        "totals": {"labour_hours": {"refinish": 0.4}, "elapsed_min": quantiles, "work_min": quantiles},
        "emissions": {"voc_total_g": "12.5", "jurisdiction": None, "limits": "Not assessed."},
        "cost": None,
        "place": None,
    }
    return whole | changed


def stage(position: int, name: str, title: str, **changed: Any) -> dict[str, Any]:
    work = {"p50": 12, "p80": 15, "p95": 19}
    plain = {"work_min": work, "wait_min": 0, "window": None, "abrasive": None}
    return {"position": position, "stage": name, "title": title, **plain, **changed}


def caution(name: str, signal: str, stages: list[str]) -> dict[str, Any]:
    return {"caution": name, "title": f"Mind {name}", "signal": signal, "stages": stages}


def lines(**changed: Any) -> list[str]:
    return procedure_in_text(document(**changed)).splitlines()


def test_the_head_names_part_material_line_item_disposition_and_reason() -> None:
    head = lines()[:3]
    assert head[0] == "radiator grille, Acrylonitrile butadiene styrene"
    assert "line item RO-1" in head[1]
    assert head[2].strip() == "REPAIR: The part can be repaired."


def test_what_was_assumed_is_told() -> None:
    assert "    Assumed, as the line item does not say: texture smooth, through true." in lines()


def test_a_stage_has_its_times_its_abrasive_and_its_window() -> None:
    words = [" ".join(line.split()) for line in lines()]
    assert "1. Sand the surface 12 min P400" in words
    prime = words.index("2. Apply primer 12 min 8 h")
    assert words[prime + 1] == "Start by 10:42."


def test_with_a_start_the_finish_is_told_and_what_is_put_off() -> None:
    finish = {"p50": "2027-03-02T10:00:00Z", "p80": "2027-03-02T11:00:00Z", "p95": "2027-03-02T12:00:00Z"}
    totals = {**document()["totals"], "finish_at": finish}
    put_off = [{"told": "Apply primer is put off from 16:50 to 07:30 on Wed 3 Mar: the shop is closed."}]
    timeline = {"start_at": "2027-03-02T08:00:00Z", "held": [], "put_off": put_off}
    words = " ".join(" ".join(lines(totals=totals, timeline=timeline)).split())
    assert "80 % by 2027-03-02T11:00:00Z" in words
    assert put_off[0]["told"] in words


def test_cautions_are_short_and_name_their_stages() -> None:
    printed = lines()
    assert "    DANGER   Mind isocyanates (2)" in printed
    assert "    WARNING  Mind dust (1, 2)" in printed
    assert "local codes and licensed practice prevail" in " ".join(" ".join(printed).split())


def test_totals() -> None:
    words = " ".join(" ".join(lines()).split())
    assert "half of such jobs within 1 h 35 min, 80 % within 2 h, 95 % within 2 h 30 min" in words
    assert "refinish 0.4 h" in words
    assert "12.5 g" in words


def test_limits_are_told_where_a_jurisdiction_was_given() -> None:
    emissions = {"voc_total_g": "12.5", "jurisdiction": "eu", "limits": "Over: Basecoat."}
    assert "Over: Basecoat." in procedure_in_text(document(emissions=emissions))
    assert "Not assessed." not in procedure_in_text(document())


def test_a_place_that_is_unfit_is_warned_of() -> None:
    warning = "The surface is too close to the dew point."
    held = {"start_at": None, "finish_at": None, "held": ["prime"]}
    printed = lines(place={"warning": warning}, timeline=held)
    assert printed[printed.index(f"    {warning}") - 1] == "    Held until the place is fit: 2."


def test_cost_stands_against_a_new_part() -> None:
    cost = {
        "currency": "USD",
        "labour_total": "24.80",
        "materials_total": "3.10",
        "replacement_part": "410.00",
        "not_included": ["masking: no price", "refit"],
        "advice": {"advised": "repair", "saving": "12.00", "because": ["It is likelier to cost less."]},
    }
    words = " ".join(" ".join(lines(cost=cost)).split())
    assert "Labour USD 24.80, materials USD 3.10. A new part USD 410.00." in words
    assert "Not included: masking: no price, refit." in words
    assert "Advised: repair. The repair costs USD 12.00 less than the replacement" in words
    dearer = {**cost, "advice": {"advised": None, "saving": "-5.00", "because": ["It is close."]}}
    words = " ".join(" ".join(lines(cost=dearer)).split())
    assert (
        "Advised: nothing. The repair costs USD 5.00 more than the replacement at the median. It is close."
        in words
    )


def test_a_part_without_stages_has_no_table_and_no_totals() -> None:
    printed = "\n".join(lines(stages=[], cautions=[caution("airbag", "danger", [])], disposition="refer"))
    assert "REFER: " in printed
    assert "DANGER   Mind airbag" in printed
    assert "Totals" not in printed
    assert "Abrasive" not in printed


def test_no_line_is_wider_than_a_terminal() -> None:
    long = "A very long title of a stage " * 6
    reasons = [{"rule": "r", "text": "word " * 80}]
    stages = [stage(1, "sand", long, abrasive="P400", window={"sentence": long})]
    cautions = [caution("x" * 60, "danger", ["sand"])]
    assert max(map(len, lines(stages=stages, reasons=reasons, cautions=cautions))) <= WIDTH
