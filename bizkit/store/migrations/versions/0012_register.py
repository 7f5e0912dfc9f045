"""What lists show in columns: the register of issued documents, and whom the brief of a job names."""

import json
import tomllib
from typing import Any

import sqlalchemy as sa
from alembic import op

from bizkit.domain.money import Money
from bizkit.store.schema import guards

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

APPEND_ONLY: dict[str, tuple[tuple[str, ...], ...]] = {"register": (("position",),)}

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
TEXTS = (
    "kind", "number", "key", "issued_on", "client", "client_name", "title", "currency", "due_on", "reference",
    "valid_until", "stage", "deposit_on", "charges", "credits", "reason", "late_payment_of",
)  # fmt: skip
AMOUNTS = ("net_minor", "tax_minor", "gross_minor", "prepaid_minor", "due_minor", "deposit_minor")
FLAGS = ("accepted", "bills_quote", "final", "undoes", "settles")


def upgrade() -> None:
    """Make both, and fill them from what was issued; the documents stay as they are."""
    op.create_table(
        "register",
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        *(sa.Column(name, sa.Text(), nullable=False) for name in TEXTS),
        *(sa.Column(name, WHOLE, nullable=False) for name in AMOUNTS),
        *(sa.Column(name, sa.Boolean(), nullable=False) for name in FLAGS),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("stage_position", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("position"),
    )
    op.create_index(op.f("ix_register_key"), "register", ["key"], unique=False)
    op.create_index("register_kind", "register", ["kind"], unique=False)
    op.add_column("job", sa.Column("crew", sa.Text(), server_default="[]", nullable=False))
    work = op.get_bind()
    _fill(work)
    _name_crews(work)
    for statement in guards(work.dialect.name, APPEND_ONLY):
        op.execute(statement)


def _fill(work: sa.Connection) -> None:
    register = sa.table("register", *(sa.column(name) for name in (*TEXTS, *AMOUNTS, *FLAGS, "position", "revision")),
                        sa.column("stage_position"))  # fmt: skip
    found = work.execute(
        sa.text(
            "SELECT position, kind, key, document FROM issued WHERE kind IN ('quote', 'invoice', 'credit_note') "
            "ORDER BY position"
        )
    ).all()
    for position, kind, key, text in found:
        work.execute(sa.insert(register).values(_entry(position, kind, key, json.loads(text))))


def _entry(position: int, kind: str, key: str, document: dict[str, Any]) -> dict[str, Any]:
    """As `store/register` wrote it when this was made."""
    currency = document.get("currency", "")
    stage, client = document.get("stage") or {}, document.get("client") or {}
    # Of a quote it is what is left for kit, an amount.
    deposit = (document.get("deposit") or {}) if kind == "invoice" else {}
    place = int(stage.get("position") or 0)
    amounts = {
        f"{name}_minor": Money(document[name], currency).minor if document.get(name) else 0
        for name in ("net", "tax", "gross", "prepaid", "due")
    }
    return {
        **amounts,
        "position": position,
        "kind": kind,
        "number": document["number"],
        "revision": document["revision"],
        "key": key,
        "issued_on": document["issued_on"],
        "client": client.get("key", ""),
        "client_name": client.get("name", ""),
        "title": document.get("title", ""),
        "currency": currency,
        "due_on": document.get("due_on", ""),
        "reference": (document.get("payment") or {}).get("reference", ""),
        "valid_until": document.get("valid_until", ""),
        "accepted": bool(document.get("accepted")),
        "stage": stage.get("title", ""),
        "stage_position": place,
        "bills_quote": bool(place or deposit or document.get("final")),
        "final": bool(document.get("final")),
        "deposit_minor": Money(deposit["amount"], currency).minor if deposit.get("amount") else 0,
        "deposit_on": deposit.get("received_on", ""),
        "charges": json.dumps(list(document.get("charges") or ()), separators=(",", ":")),
        "credits": (document.get("credits") or {}).get("number", ""),
        "reason": document.get("reason", "") if kind == "credit_note" else "",
        "undoes": bool(document.get("undoes")),
        "settles": bool(document.get("settles")),
        "late_payment_of": document.get("late_payment_of") or "",
    }


def _name_crews(work: sa.Connection) -> None:
    """Of books made before briefs were kept, and of a brief that cannot be read any more, nobody is named."""
    found = work.execute(
        sa.text(
            "SELECT job.key, basis.brief, basis.options FROM job JOIN basis "
            "ON basis.number = job.quote_number AND basis.revision = job.quote_revision"
        )
    ).all()
    for key, brief, options in found:
        try:
            tree = tomllib.loads(brief)
        except tomllib.TOMLDecodeError:
            continue
        days = list(tree.get("days", ()))
        for option in json.loads(options):
            days += tree.get("options", {}).get(option, {}).get("days", ())
        names = [one["person"] for day in days for one in day.get("crew", ()) if one.get("person")]
        crew = json.dumps(list(dict.fromkeys(names)), ensure_ascii=False, separators=(",", ":"))
        work.execute(sa.text("UPDATE job SET crew = :crew WHERE key = :key"), {"crew": crew, "key": key})
