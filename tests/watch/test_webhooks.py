"""Where events of a watch are sent to: asked for with it, refused where nothing may be sent."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from service.store.engines import reading
from service.store.tables import OUTBOX
from service.store.webhook_secrets import SqlWebhookSecrets
from service.webhooks.vault import Vault, new_vault_key
from tests.watch.world import FOG, START, World, opened

KEY = new_vault_key()
UNTIL = "2026-03-14T08:00:00Z"
URL = "https://desk.example/hook"
GIVEN = {"url": URL, "secret_id": "whs-1"}


@pytest.fixture
def sending(tmp_path: Path) -> Iterator[World]:
    """A service that may send to one host, and has a secret to sign with."""
    with opened(
        f"sqlite:///{tmp_path / 'decisions.sqlite3'}",
        APPROACH_WEBHOOK_HOSTS="desk.example",
        APPROACH_WEBHOOK_KEY=KEY,
    ) as found:
        encrypted = Vault([KEY]).closed(b"s" * 32)
        SqlWebhookSecrets(found.store).create("whs-1", encrypted=encrypted, at=START)
        yield found


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        (GIVEN | {"secret_id": "whs-2"}, "/webhook/secret_id"),
        (GIVEN | {"url": "https://other.example/"}, "/webhook/url"),
        (GIVEN | {"url": "http://desk.example/"}, "/webhook/url"),
        (GIVEN | {"url": "https://user@desk.example/"}, "/webhook/url"),
        ({"url": URL}, "/webhook/secret_id"),
    ],
)
def test_a_webhook_that_would_not_be_sent_is_refused(
    sending: World, given: Any, pointer: str
) -> None:
    body = {"decision_id": sending.decided()["id"], "until": UNTIL, "webhook": given}
    answer = sending.client.post("/v1/watches", json=body)
    assert answer.status_code == 422
    assert [each["pointer"] for each in answer.get_json()["errors"]] == [pointer]


def test_what_changes_is_put_into_the_outbox_and_seen_at_the_watch(sending: World) -> None:
    watch = sending.watched(webhook=GIVEN)
    assert watch["webhook"] == GIVEN
    sending.report(FOG)
    sending.look()
    (event,) = sending.events()
    with reading(sending.store) as connection:
        (row,) = connection.execute(select(OUTBOX)).mappings().all()
    assert (row["url"], row["event_id"]) == (URL, event["event_id"])
    (delivery,) = sending.watch(watch["id"])["deliveries"]
    assert (delivery["state"], delivery["tries"]) == ("waiting", 0)
