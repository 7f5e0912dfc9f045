"""Letters, sums received and how they were split, bank statements, evidence, overheads, journeys."""

import sqlalchemy as sa
from alembic import op

from bizkit.store.schema import guards

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

APPEND_ONLY: dict[str, tuple[tuple[str, ...], ...]] = {
    "letter": (("id",), ("name",)),
    "money_in": (("id",),),
    "bank_entry": (("id",), ("key",)),
    "booking": (("id",),),
    "evidence": (("id",),),
    "overhead": (("id",),),
    "input_tax": (("id",),),
    "journey": (("id",),),
}


def upgrade() -> None:
    """Make the tables, then guard the ones that never change."""
    op.create_table(
        "letter",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("about", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("name"),
    )
    op.create_index(op.f("ix_letter_about"), "letter", ["about"], unique=False)
    op.create_table(
        "money_in",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("client", sa.Text(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("amount_minor", sa.Integer(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("fee_minor", sa.Integer(), nullable=False),
        sa.Column("account_minor", sa.Integer(), nullable=True),
        sa.Column("account_currency", sa.Text(), nullable=False),
        sa.Column("reference", sa.Text(), nullable=False),
        sa.Column("payments", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_money_in_client"), "money_in", ["client"], unique=False)
    op.create_table(
        "bank_entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("file", sa.Text(), nullable=False),
        sa.Column("booked_on", sa.Text(), nullable=False),
        sa.Column("amount_minor", sa.Integer(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("reference", sa.Text(), nullable=False),
        sa.Column("original_minor", sa.Integer(), nullable=True),
        sa.Column("original_currency", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("key"),
    )
    op.create_index(op.f("ix_bank_entry_file"), "bank_entry", ["file"], unique=False)
    op.create_table(
        "booking",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("entry", sa.Integer(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("money_in", sa.Integer(), nullable=True),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["entry"], ["bank_entry.id"]),
        sa.ForeignKeyConstraint(["money_in"], ["money_in.id"]),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_booking_entry"), "booking", ["entry"], unique=False)
    op.create_table(
        "evidence",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("client", sa.Text(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("paper", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_evidence_client"), "evidence", ["client"], unique=False)
    op.create_table(
        "overhead",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("paid_on", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("supplier", sa.Text(), nullable=False),
        sa.Column("net_minor", sa.Integer(), nullable=False),
        sa.Column("tax_minor", sa.Integer(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("goods", sa.Integer(), nullable=False),
        sa.Column("capital", sa.Integer(), nullable=False),
        sa.Column("receipt", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_table(
        "input_tax",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cost", sa.Integer(), nullable=False),
        sa.Column("tax_minor", sa.Integer(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("goods", sa.Integer(), nullable=False),
        sa.Column("capital", sa.Integer(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["cost"], ["cost.id"]),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_input_tax_cost"), "input_tax", ["cost"], unique=False)
    op.create_table(
        "journey",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("vehicle", sa.Text(), nullable=False),
        sa.Column("distance", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("origin", sa.Text(), nullable=False),
        sa.Column("destination", sa.Text(), nullable=False),
        sa.Column("purpose", sa.Text(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    for statement in guards(op.get_bind().dialect.name, APPEND_ONLY):
        op.execute(statement)
