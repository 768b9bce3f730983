"""The chain of records, a row to try writing with, and who holds a key.

The decisions that are there become the beginning of the chain, in the order of their ids, without
a caller and unsigned: nobody knows more of them.
"""

from __future__ import annotations

import hashlib
import json

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

GENESIS = "0" * 64
AT_ONCE = 1_000


def upgrade() -> None:
    """Make the tables, and link what is there."""
    chain = op.create_table(
        "chain",
        sa.Column("sequence", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("decision_id", sa.String(36)),
        sa.Column("request_digest", sa.String(64), nullable=False),
        sa.Column("response_digest", sa.String(64), nullable=False),
        sa.Column("whole_digest", sa.String(64)),
        sa.Column("caller", sa.String(128), nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("purged_before", sa.String(32)),
        sa.Column("link", sa.String(64), nullable=False),
        sa.Column("signature", sa.String(64)),
    )
    op.create_index("ix_chain_decision", "chain", ["decision_id"], unique=True)
    head = op.create_table(
        "chain_head",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("sequence", sa.Integer, nullable=False),
        sa.Column("link", sa.String(64), nullable=False),
    )
    probe = op.create_table(
        "probe",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("filling", sa.LargeBinary, nullable=False),
    )
    op.add_column("idempotency_keys", sa.Column("owner", sa.String(128)))
    sequence, link = _link_all(chain)
    op.bulk_insert(head, [{"id": 1, "sequence": sequence, "link": link}])
    op.bulk_insert(probe, [{"id": 1, "at": "", "filling": b""}])
    op.execute("UPDATE store SET schema_version = 3")


def _link_all(chain: sa.Table) -> tuple[int, str]:
    """Link every decision; the number and link of the last."""
    names = ("decision_id", "request_digest", "response_digest", "whole_digest", "created_at")
    decisions = sa.table("decisions", *map(sa.column, names))
    connection, sequence, link, last = op.get_bind(), 0, GENESIS, ""
    while True:  # by the key, since the same connection writes in between
        part = connection.execute(
            sa.select(*decisions.c)
            .where(decisions.c.decision_id > last)
            .order_by(decisions.c.decision_id)
            .limit(AT_ONCE)
        ).all()
        if not part:
            return sequence, link
        rows = []
        for each in part:
            sequence, last = sequence + 1, each.decision_id
            digests = [each.request_digest, each.response_digest, each.whole_digest]
            told = [link, sequence, last, *digests, "", each.created_at, None]
            text = json.dumps(told, ensure_ascii=True, separators=(",", ":"))
            link = hashlib.sha256(text.encode()).hexdigest()
            row = dict(zip(names[:4], each[:4], strict=True))
            row |= {"sequence": sequence, "caller": "", "at": each.created_at, "link": link}
            rows.append(row)
        op.bulk_insert(chain, rows)
