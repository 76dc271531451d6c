import pytest
from marshmallow import Schema, ValidationError

from rules.intake import FactFault
from schemas.actuals import ActualsRequest
from schemas.faults import LONGEST_ECHO, Fault, faults_of_body, faults_of_facts, faults_of_query, pointer
from schemas.line_item.body import ProcedureRequest
from schemas.links import LinkRequest
from schemas.queries import ProceduresQuery
from schemas.webhooks import DeliveriesQuery, WebhookRequest


def test_a_pointer_escapes_as_rfc_6901_says() -> None:
    assert pointer(pointer("", "a/b"), "m~n") == "/a~1b/m~0n"
    assert pointer("/list", 0) == "/list/0"


def test_faults_carry_place_value_and_what_is_accepted() -> None:
    body = {"line_item": [], "part": {"name": "x", "material": 3}, "damge": {}, "rates": {}}
    schema = ProcedureRequest()
    with pytest.raises(ValidationError) as refused:
        schema.load(body)
    errors = {fault.place: fault.as_error() for fault in faults_of_body(refused.value, schema)}
    assert errors["/line_item"] == {"pointer": "/line_item", "detail": "must be an object"}
    assert errors["/part/material"] == {"pointer": "/part/material", "detail": "must be text", "value": 3}
    assert errors["/damge"]["detail"] == "is not a member here; did you mean 'damage'?"
    assert "damage" in errors["/damge"]["accepted"]
    assert errors["/rates/currency"] == {"pointer": "/rates/currency", "detail": "is missing"}


def test_prices_tell_the_category_at_fault() -> None:
    body = {"rates": {"currency": "USD", "labour_per_hour": {"body": 62}}}
    schema = ProcedureRequest(partial=True)
    with pytest.raises(ValidationError) as refused:
        schema.load(body)
    (fault,) = faults_of_body(refused.value, schema)
    assert (fault.place, fault.value) == ("/rates/labour_per_hour/body", 62)


@pytest.mark.parametrize(
    ("schema", "body", "place", "told"),
    [
        (LinkRequest(), {"opens": "timelin"}, "/opens", "; did you mean 'timeline'?"),
        (WebhookRequest(partial=True), {"events": ["procedure.isued"]}, "/events/0", "'procedure.issued'?"),
        (DeliveriesQuery(), {"state": "deliverd"}, "/state", "did you mean 'delivered'?"),
    ],
)
def test_a_value_of_a_closed_list_is_told_what_is_accepted(
    schema: Schema, body: dict[str, object], place: str, told: str
) -> None:
    with pytest.raises(ValidationError) as refused:
        schema.load(body)
    (error,) = [fault.as_error() for fault in faults_of_body(refused.value, schema)]
    assert error["pointer"] == place
    assert error["detail"].endswith(told)
    assert told.split("'")[-2] in error["accepted"]


def test_a_fault_of_another_kind_is_not_told_what_is_accepted() -> None:
    schema = LinkRequest()
    with pytest.raises(ValidationError) as refused:
        schema.load({"opens": 3})
    assert [fault.as_error() for fault in faults_of_body(refused.value, schema)] == [
        {"pointer": "/opens", "detail": "must be text", "value": 3}
    ]


def test_a_member_that_is_unknown_in_an_element_of_a_list_is_told_which_there_are() -> None:
    schema = ActualsRequest()
    with pytest.raises(ValidationError) as refused:
        schema.load({"actuals": [{"stage": "wash", "work_mins": 8}]})
    faults = {fault.place: fault for fault in faults_of_body(refused.value, schema)}
    fault = faults["/actuals/0/work_mins"]
    assert fault.as_error()["detail"] == "is not a member here; did you mean 'work_min'?"
    assert "started_at" in fault.accepted


def test_a_fault_of_a_fact_proposes_the_nearest_value() -> None:
    fault = FactFault("damage_type", "/damage/type", "crak", "must be one of", ("crack", "tear"))
    (told,) = faults_of_facts((fault,))
    assert told.as_error() == {
        "pointer": "/damage/type",
        "detail": "must be one of; did you mean 'crack'?",
        "value": "crak",
        "accepted": ["crack", "tear"],
    }


def test_long_values_are_cut_and_values_that_are_no_scalars_are_not_repeated() -> None:
    assert Fault("/a", "is wrong", "x" * 10_000).as_error()["value"] == "x" * LONGEST_ECHO
    assert "value" not in Fault("/a", "is wrong", {"b": 1}).as_error()


def test_a_query_parameter_is_named_without_a_slash() -> None:
    schema = ProceduresQuery()
    with pytest.raises(ValidationError) as refused:
        schema.load({"line_item": "x", "limit": "1_0", "page": "2"})
    assert {fault.place for fault in faults_of_query(refused.value, schema)} == {"limit", "page"}


@pytest.mark.parametrize("limit", ["0", "101", "1_0", "+5", " 5", "5.0", "\u0665", "", "9" * 5000])
def test_a_limit_is_written_in_ascii_digits_and_bounded(limit: str) -> None:
    with pytest.raises(ValidationError):
        ProceduresQuery().load({"line_item": "x", "limit": limit})
