"""The interface is what its description says: no answer that is not in it, and no fault, whatever is sent."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator

import httpx
import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    negative_data_rejection,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
    unsupported_method,
)

from api.app import create_app
from assistant import Assistant
from assistant.settings import Settings
from tests.api.conftest import serving

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    negative_data_rejection,
    unsupported_method,
]
TOLD = (
    "410A, TXV, four ton. Suction 118, head 345, liquid line 94, suction line 54, target subcool 10. "
    "Return airflow 1230 cfm, two 14 inch flex returns. I'll call the owner on Monday."
)
KNOWN: dict[str, str] = {"job": "print-shop"}  # and the id of a note, once it is told
EXAMPLES = 10  # for each operation, right ones and wrong ones each


DOCUMENT = create_app(Settings()).openapi()
SCHEMA = schemathesis.openapi.from_dict(DOCUMENT)
OPERATIONS = {each.ok().label: each.ok() for each in SCHEMA.get_all_operations()}


@SCHEMA.hook
def map_path_parameters(context, path_parameters):
    """Half of the time an id that there is, so that more than refusals is seen. By its hash: the same every run."""
    return {
        name: KNOWN[name] if name in KNOWN and hashlib.sha256(repr(value).encode()).digest()[0] % 2 else value
        for name, value in (path_parameters or {}).items()
    }


def a_note(body: object) -> dict:
    """A form as it was drawn, made one that tells a note: words and no recording. A description cannot say so."""
    drawn = body if isinstance(body, dict) else {}
    given = {name: drawn[name] for name in ("text", "job", "client_id") if drawn.get(name)}
    return {"text": f"head pressure 345, {sorted(drawn)}", **given}


class Unlimited:
    """Wrong guesses are what this test is made of."""

    def asked(self, who: str) -> None: ...

    may_guess = guessed_wrong = asked


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with Assistant() as assistant:
        KNOWN["note"] = assistant.tell(TOLD, job=KNOWN["job"]).note["id"]
        app = create_app(Settings(), assistant)
        app.state.limits = Unlimited()
        with serving(app) as address:
            yield address


@pytest.mark.parametrize("mode", list(GenerationMode), ids=lambda mode: mode.value)
@pytest.mark.parametrize("label", OPERATIONS)
def test_every_operation_answers_as_it_is_described_whatever_is_sent(address, label, mode):
    try:
        cases = OPERATIONS[label].as_strategy(generation_mode=mode)
    except Unsatisfiable:
        pytest.skip("nothing wrong can be sent to it")

    @settings(
        max_examples=EXAMPLES,
        derandomize=True,
        database=None,
        deadline=None,
        phases=(Phase.generate,),
        suppress_health_check=list(HealthCheck),
    )
    @given(case=cases)
    def answers(case):
        if label == "POST /api/v1/notes" and mode is GenerationMode.POSITIVE:
            case.body = a_note(case.body)
        case.call_and_validate(base_url=address, checks=CHECKS, timeout=30)

    answers()


def test_what_is_served_is_the_description(address):
    assert httpx.get(f"{address}/api/v1/openapi.json").json() == DOCUMENT


def test_every_operation_says_what_it_is_for_and_how_it_can_be_refused():
    operations = [each for path in DOCUMENT["paths"].values() for each in path.values()]
    assert len(operations) > 25
    for operation in operations:
        assert operation["description"]
        assert operation["tags"][0] in {tag["name"] for tag in DOCUMENT["tags"]}
        for status, answer in operation["responses"].items():
            if int(status) >= 400:
                assert list(answer["content"]) == ["application/problem+json"], (operation["operationId"], status)


def test_a_whole_log_has_the_names_it_is_described_with():
    """Types are compared by the test above, with every answer that it gets."""
    schemas = DOCUMENT["components"]["schemas"]
    with Assistant() as assistant:
        assistant.tell(TOLD, job="a")
        log = assistant.tell("scratch that, head 340", job="a").log
    assert set(schemas["JobLog"]["required"]) <= set(log) <= set(schemas["JobLog"]["properties"])
    compared = 0
    for name, items in log.items():
        for item in items if isinstance(items, list) else []:
            kind = schemas["JobLog"]["properties"][name]["items"]["$ref"].rpartition("/")[2]
            assert set(schemas[kind]["required"]) <= set(item) <= set(schemas[kind]["properties"])
            compared += 1
    assert compared > 20
