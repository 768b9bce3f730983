"""The form of a case: made of the declaration of the request, whole, and told to browsers only."""

from __future__ import annotations

from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Any

import pytest
from flask.testing import FlaskClient

from decision.case import CASE
from decision.case.demos import installed_demos
from decision.case.spec import ListOf, Number, RecordSpec, Spec
from service.page.form import WRITTEN_BY_THE_SERVICE

BROWSER = {"Accept": "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"}
MOST_BYTES = 300_000  # of a page, from the issue


class _Page(HTMLParser):
    """Attributes of every element, and the text of each label by the control it is for."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[dict[str, str | None]] = []
        self.labels: dict[str, str] = {}
        self.open: str | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.found.append({"tag": tag, **given})
        if tag == "label" and given.get("for"):
            self.open = str(given["for"])

    def handle_endtag(self, tag: str) -> None:
        if tag == "label":
            self.open = None

    def handle_data(self, data: str) -> None:
        if self.open is not None:
            self.labels[self.open] = self.labels.get(self.open, "") + data


def _page(client: FlaskClient, address: str = "/") -> _Page:
    answer = client.get(address, headers=BROWSER)
    assert (answer.status_code, answer.mimetype) == (200, "text/html")
    read = _Page()
    read.feed(answer.text)
    return read


def _inner(spec: Spec) -> RecordSpec | None:
    return spec if isinstance(spec, RecordSpec) else getattr(spec, "named", None)


def _declared(record: RecordSpec, path: str = "") -> Iterator[tuple[str, Spec, bool]]:
    """Path in its scope, shape, and whether it is a list of objects: of all that may be given."""
    for field in record.fields:
        where = f"{path}{field.name}"
        if where in WRITTEN_BY_THE_SERVICE:
            continue
        inside = _inner(field.spec)
        item = _inner(field.spec.item) if isinstance(field.spec, ListOf) else None
        if inside is not None:
            yield from _declared(inside, f"{where}/")
        else:
            yield where, field.spec, item is not None
        if item is not None:
            yield from _declared(item)


def test_a_browser_gets_the_form_and_whoever_takes_anything_the_addresses(
    real_client: FlaskClient,
) -> None:
    assert _page(real_client).found
    assert real_client.get("/", headers={"Accept": "*/*"}).mimetype == "application/json"
    assert real_client.get("/", headers={"Accept": "text/plain"}).mimetype == "text/plain"


def test_every_member_of_a_request_has_a_control_or_a_list(real_client: FlaskClient) -> None:
    found = _page(real_client).found
    controls = {each["data-control"] for each in found if "data-control" in each}
    lists = {each["data-list"] for each in found if "data-list" in each}
    declared = list(_declared(CASE))
    assert len(declared) > 150
    for where, _, many in declared:
        assert where in (lists if many else controls), where


def test_a_number_is_labelled_with_its_unit(real_client: FlaskClient) -> None:
    page = _page(real_client)
    by_path: dict[str, list[str]] = {}
    for each in page.found:
        if each.get("data-control"):
            by_path.setdefault(str(each["data-control"]), []).append(str(each["id"]))
    for where, spec, _ in _declared(CASE):
        if isinstance(spec, Number) and spec.unit:
            assert all(f", {spec.unit}" in page.labels[id_] for id_ in by_path[where]), where


def test_every_control_is_labelled_and_says_what_it_means(real_client: FlaskClient) -> None:
    page = _page(real_client)
    ids = [each["id"] for each in page.found if each.get("id")]
    assert len(ids) > 300
    for each in page.found:
        if "data-control" in each and each["tag"] != "fieldset":
            assert page.labels[str(each["id"])].strip()
        for id_ in (each.get("aria-describedby") or "").split():
            assert id_ in ids
        assert "style" not in each
        assert not any(name.startswith("on") for name in each)


def test_what_is_required_is_marked_and_a_default_is_told(real_client: FlaskClient) -> None:
    page = _page(real_client)
    by_id = {str(each["id"]): each for each in page.found if each.get("id")}
    assert by_id["c-aircraft-mass_kg"]["aria-required"] == "true"
    assert by_id["c-aircraft-mass_kg"]["placeholder"] == "required"
    assert page.labels["c-aircraft-mass_kg"] == "mass, kg *"
    assert by_id["c-fuel-leak_kg_per_h"]["placeholder"] == "default taken: 0"
    assert by_id["c-aircraft-oxygen_min"]["placeholder"] == "not known"
    assert by_id["c-aircraft-flap"]["placeholder"] == "not given: flaps up"


def test_the_page_is_small_says_who_decides_and_what_to_do_without_scripts(
    real_client: FlaskClient,
) -> None:
    answer = real_client.get("/", headers=BROWSER)
    assert len(answer.data) < MOST_BYTES
    assert "the licensed crew decide" in answer.text.partition("<main>")[0]
    assert "This form needs JavaScript" in answer.text
    assert "script-src 'self'" in answer.headers["Content-Security-Policy"]


def test_every_demo_can_be_chosen(real_client: FlaskClient) -> None:
    page = _page(real_client)
    values = [each.get("value") for each in page.found if each["tag"] == "option"]
    assert all(demo.name in values for demo in installed_demos())


@pytest.mark.parametrize(
    ("query", "given"),
    [("?from=0190-x", {"data-from": "0190-x"}), ("?demo=gear-stuck", {"data-demo": "gear-stuck"})],
)
def test_an_address_says_what_the_form_starts_from(
    real_client: FlaskClient, query: str, given: dict[str, Any]
) -> None:
    form = next(each for each in _page(real_client, f"/{query}").found if each["tag"] == "form")
    assert given.items() <= form.items()


def test_another_parameter_is_refused(real_client: FlaskClient) -> None:
    told = real_client.get("/?from_=x", headers=BROWSER)
    assert told.status_code == 422
    assert told.get_json()["errors"][0]["pointer"] == "?from_"
