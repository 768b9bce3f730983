"""The product's own pages: complete, self-contained, and true to the service."""

from __future__ import annotations

import json
import re
import shlex
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import quote, urlsplit

import pytest
from flask.testing import FlaskClient

from decision.brief import RULER, brief, first
from decision.brief.first import LABEL
from decision.decide.decision import Basis, Verdict
from decision.rules import RULES
from service import keys
from service.app import create_app
from service.documents import FIGURES, FOLDER, INDEX, figures, pages, rendered
from service.keytext import key_in
from service.store import SqlDecisionLog
from tests.answer.told import told
from tests.case.builders import CASES
from tests.service.builders import plain_engine, service_settings

NAMES = sorted(pages())
GOLDEN = Path(__file__).parents[1] / "brief" / "golden"


@pytest.fixture
def client(tmp_path: Path, log: SqlDecisionLog) -> FlaskClient:
    """A client of the installed engine and data."""
    return create_app(service_settings(tmp_path), log=log).test_client()


class Links(HTMLParser):
    """Every address that a page leads to or loads."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.found: list[tuple[str, str]] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found += [
            (tag, value) for name, value in attrs if name in {"href", "src"} and value is not None
        ]


@pytest.mark.parametrize("name", NAMES)
def test_every_page_is_served_and_every_link_of_it_leads_somewhere(
    client: FlaskClient, name: str
) -> None:
    answer = client.get("/docs" if name == INDEX else f"/docs/{name}")
    assert answer.status_code == 200
    assert answer.mimetype == "text/html"
    links = Links(answer.text).found
    assert links
    for tag, address in links:
        if address.startswith(("https://", "#")):
            assert tag == "a"  # led to, never loaded
            continue
        assert client.get(urlsplit(address).path).status_code == 200, address


@pytest.mark.parametrize("name", NAMES)
def test_every_link_of_a_page_stands_under_the_path_that_callers_see(
    tmp_path: Path, name: str
) -> None:
    settings = service_settings(tmp_path, APPROACH_PUBLIC_ADDRESS="https://x.example/a/b")
    client = create_app(settings, engine=plain_engine()).test_client()
    links = Links(client.get("/docs" if name == INDEX else f"/docs/{name}").text).found
    own = [address for _, address in links if not address.startswith(("https://", "#"))]
    assert own
    assert [each for each in own if not each.startswith("/a/b/")] == []


def test_only_addresses_are_brought_under_a_path() -> None:
    told = '# A\n\nsay `a href="/x"` and href="/y", [in](/docs "to href=\'/z\'")'
    text = f"{told} [out](//z.example/)\n"
    page = rendered("x", text)
    assert page.under("") == page.html
    assert page.under('/b\\1"<').count("/b\\1&#34;&lt;") == 1
    assert 'href="/b/docs"' in page.under("/b")


ANCHOR = re.compile(r'<h[1-6] id="([^"]*)">')


@pytest.mark.parametrize("name", NAMES)
def test_every_heading_of_a_page_has_an_anchor_of_its_own(name: str) -> None:
    html = pages()[name].html
    anchors = ANCHOR.findall(html)
    assert len(anchors) == html.count("<h1") + html.count("<h2") + html.count("<h3")
    assert len(set(anchors)) == len(anchors)
    assert all(re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", each) for each in anchors)


def test_the_page_of_rules_has_an_anchor_for_every_code() -> None:
    assert {rule.code.lower() for rule in RULES} <= {*ANCHOR.findall(pages()["rules"].html)}


def test_the_first_page_leads_to_every_other(client: FlaskClient) -> None:
    led_to = {address for _, address in Links(client.get("/docs").text).found}
    assert {f"/docs/{name}" for name in NAMES if name != INDEX} <= led_to


@pytest.mark.parametrize("name", NAMES)
def test_a_page_loads_nothing_from_elsewhere_and_runs_no_script(
    client: FlaskClient, name: str
) -> None:
    answer = client.get("/docs" if name == INDEX else f"/docs/{name}")
    policy = answer.headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'")
    assert "img-src 'self'" in policy
    assert "script" not in policy
    assert "<script" not in answer.text
    assert 'style="' not in answer.text  # the policy would not apply it


@pytest.mark.parametrize("file", sorted(FIGURES.glob("*.svg")), ids=lambda file: file.name)
def test_a_figure_is_served_as_drawn_and_shown_on_a_page(client: FlaskClient, file: Path) -> None:
    answer = client.get(f"/docs/figures/{file.name}")
    assert answer.mimetype == "image/svg+xml"
    assert answer.get_data() == file.read_bytes()
    assert b"<script" not in file.read_bytes()
    assert any(f"figures/{file.name}" in page.html for page in pages().values())


@pytest.mark.parametrize(
    "address",
    ["/docs/none", "/docs/figures/none.svg", "/docs/..%2Fsettings", "/docs/figures/..%2Findex.md"],
)
def test_nothing_but_the_pages_is_served(client: FlaskClient, address: str) -> None:
    answer = client.get(address)
    assert answer.status_code == 404
    assert answer.mimetype == "application/problem+json"


def test_raw_html_in_a_page_is_shown_as_text() -> None:
    page = rendered("x", "# Title\n\n<script>alert(1)</script>\n\n<b>bold</b>")
    assert "<script>" not in page.html
    assert "<b>" not in page.html
    with pytest.raises(ValueError, match="must begin with a title"):
        rendered("x", "no title")


def test_pages_and_figures_are_those_of_the_folder() -> None:
    assert set(pages()) == {file.stem for file in FOLDER.glob("*.md")}
    assert set(figures()) == {file.name for file in FIGURES.glob("*.svg")}


# --- the tour ---

TOUR = ("api.md", "operation.md")
BLOCK = re.compile(r"^```(\w*)\n(.*?)^```$", re.DOTALL | re.MULTILINE)
COMMANDS = [
    line
    for page in TOUR
    for kind, block in BLOCK.findall((FOLDER / page).read_text("utf-8"))
    if not kind
    for line in block.splitlines()
]
CASE = (CASES / "gear-stuck.json").read_bytes()
LINE = json.dumps(json.loads(CASE)).encode()
SWEEP = json.dumps({"flights": [json.loads(CASE)], "failures": [{"id": "anti-skid"}]}).encode()
FILES = {
    "@case.json": CASE,
    "@cases.ndjson": LINE + b"\n" + LINE + b"\n",
    "@sweep.json": SWEEP,  # a row and a summary
}


@pytest.mark.parametrize("command", [each for each in COMMANDS if "service.keys" in each])
def test_every_command_about_keys_does_what_it_says(
    command: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("APPROACH_STORE", service_settings(tmp_path).store)
    assert keys.main(["create", "a desk", "--scope", "read"]) == 0
    made = key_in(capsys.readouterr().out.strip())
    assert made is not None
    words = shlex.split(command.replace("IDENTIFIER", made.identifier))
    assert words[:3] == ["python", "-m", "service.keys"]
    assert keys.main(words[3:]) == 0
    assert capsys.readouterr().out


@pytest.mark.parametrize("command", [each for each in COMMANDS if "service.keys" not in each])
def test_every_command_of_the_tour_does_what_it_says(client: FlaskClient, command: str) -> None:
    made = client.post("/v1/decisions", data=CASE, content_type="application/json").get_json()
    words = shlex.split(command.replace("/ID", f"/{made['id']}"))
    assert words[:2] == ["curl", "-sS"]
    headers, body, address = {}, None, ""
    rest = iter(words[2:])
    for word in rest:
        match word:
            case "-H":
                name, _, value = next(rest).partition(": ")
                headers[name] = value
            case "--data" | "--data-binary":
                given = next(rest)
                body = FILES.get(given, given.encode())
            case _:
                address = word.removeprefix("http://127.0.0.1:8080")
    address = address.replace("/COURSE", "/" + quote(made["courses"][0]["course"], safe=""))
    method = "GET" if body is None else "POST"
    answer = client.open(address, method=method, data=body, headers=headers)
    assert answer.status_code in {200, 201}, answer.text
    match answer.mimetype, headers.get("Accept"):
        case "text/plain", "text/plain":
            assert answer.text.startswith("VENTO 318")
        case "text/plain", _:
            assert address == "/metrics"
        case "application/x-ndjson", _:
            assert json.loads(answer.text.splitlines()[-1]) == {"end": True, "count": 2}
        case _:
            assert json.loads(answer.text)


def test_every_metric_is_on_the_page_about_running_it_and_no_other(client: FlaskClient) -> None:
    told = set(re.findall(r"^\| `(approach_\w+)`", (FOLDER / "operation.md").read_text(), re.M))
    kinds = re.findall(r"^# TYPE (approach_\w+) (\w+)", client.get("/metrics").text, re.M)
    assert told == {name for name, _ in kinds if not name.endswith("_created")}


def headings_of(text: str) -> set[str]:
    """Labels of the first screen, and headings of the second; one may go on with what it is of."""
    first, _, second = text.partition(RULER)
    labels = {line[:LABEL].strip() for line in first.splitlines()[1:]}
    heading = re.compile(r"([A-Z][A-Z ]+[A-Z])(?= of: |, best|  |$)")
    below = {found[0] for line in second.splitlines() if (found := heading.match(line))}
    return {label for label in labels | below if label.isupper()}


def test_the_page_on_the_brief_explains_every_heading_verdict_and_basis() -> None:
    """As they stand in the approved briefs, and in one with everything that can be included."""
    page = (FOLDER / "brief.md").read_text(encoding="utf-8")
    on_page = {line.split("|")[1].strip() for line in page.splitlines() if line.startswith("| ")}
    assert {each.value for each in (*Verdict, *Basis)} <= on_page
    case = json.loads(CASE) | {"include": ["flip_points", "uncertainty"], "compare_rulebooks": True}
    texts = [golden.read_text(encoding="utf-8") for golden in GOLDEN.glob("*.txt")]
    texts.append(brief(told(case)))
    headings = set().union(*map(headings_of, texts))
    assert len(headings) > 25
    assert headings <= on_page


def test_the_page_on_the_brief_explains_no_heading_that_no_brief_can_have() -> None:
    page = (FOLDER / "brief.md").read_text(encoding="utf-8")
    told = {line.split("|")[1].strip() for line in page.splitlines() if line.startswith("| ")}
    values = {each.value for each in (*Verdict, *Basis)}
    headings = {each for each in told if each.isupper() and "_" not in each} - values
    assert len(headings) > 30
    source = "".join(file.read_text("utf-8") for file in Path(first.__file__).parent.glob("*.py"))
    assert {each for each in headings if f'"{each}' not in source} == set()


def test_a_wide_table_is_reached_by_keys_and_has_the_name_of_its_heading() -> None:
    wide = "| a | b | c |\n| --- | --- | --- |\n| 1 | 2 | 3 |\n"
    html = rendered("x", f'# A `b` & "c"\n\n{wide}\ntext\n\n{wide}').html
    region = '<div class="wide" tabindex="0" role="region" aria-label="'
    assert f'{region}A b &amp; &quot;c&quot;">' in html
    assert f'{region}A b &amp; &quot;c&quot;, table 2">' in html
    narrow = rendered("x", "# A\n\n| a | b |\n| --- | --- |\n| 1 | 2 |\n").html
    assert "<table>" in narrow
    assert "tabindex" not in narrow
