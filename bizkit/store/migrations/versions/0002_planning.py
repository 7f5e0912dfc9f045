"""Days as worked and moved, costs as spent, jobs called off, charges beyond the quote."""

import sqlalchemy as sa
from alembic import op

from bizkit.store.schema import guards

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

APPEND_ONLY: dict[str, tuple[tuple[str, ...], ...]] = {
    "basis": (("number", "revision"),),
    "worked_day": (("id",),),
    "moved_day": (("id",),),
    "called_off": (("id",),),
    "cost": (("id",),),
}


def upgrade() -> None:
    """Make the tables, then guard the ones that never change."""
    op.create_table(
        "basis",
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("brief_file", sa.Text(), nullable=False),
        sa.Column("brief", sa.Text(), nullable=False),
        sa.Column("card", sa.Text(), nullable=False),
        sa.Column("options", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("number", "revision"),
    )
    op.create_index(op.f("ix_basis_key"), "basis", ["key"], unique=False)
    op.create_table(
        "charge",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("section", sa.Text(), nullable=False),
        sa.Column("item", sa.Text(), nullable=False),
        sa.Column("quantity", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("rate", sa.Text(), nullable=False),
        sa.Column("amount_minor", sa.Integer(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("working", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("invoice", sa.Text(), nullable=False),
        sa.Column("waived", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.key"]),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_charge_job"), "charge", ["job"], unique=False)
    op.create_table(
        "worked_day",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("call", sa.Text(), nullable=False),
        sa.Column("wrap", sa.Text(), nullable=False),
        sa.Column("meal_minutes", sa.Integer(), nullable=True),
        sa.Column("dives", sa.Integer(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.key"]),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_worked_day_job"), "worked_day", ["job"], unique=False)
    op.create_table(
        "moved_day",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("moved_from", sa.Text(), nullable=False),
        sa.Column("moved_to", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("hold", sa.Integer(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.key"]),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_moved_day_job"), "moved_day", ["job"], unique=False)
    op.create_table(
        "called_off",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("notice_on", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("fee_minor", sa.Integer(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("working", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.key"]),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_called_off_job"), "called_off", ["job"], unique=False)
    op.create_table(
        "cost",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("supplier", sa.Text(), nullable=False),
        sa.Column("amount_minor", sa.Integer(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("job_minor", sa.Integer(), nullable=False),
        sa.Column("rate", sa.Text(), nullable=False),
        sa.Column("rate_source", sa.Text(), nullable=False),
        sa.Column("receipt", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.key"]),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_cost_job"), "cost", ["job"], unique=False)
    for statement in guards(op.get_bind().dialect.name, APPEND_ONLY):
        op.execute(statement)
