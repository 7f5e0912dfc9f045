"""Persons, who and what is in each work, licences granted and what became of them."""

import sqlalchemy as sa
from alembic import op

from bizkit.store.schema import guards

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

APPEND_ONLY: dict[str, tuple[tuple[str, ...], ...]] = {
    "licence": (("number",),),
    "licence_change": (("id",),),
}


def upgrade() -> None:
    """Make the tables, then guard the ones that never change."""
    op.create_table(
        "person",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("born_on", sa.Text(), nullable=False),
        sa.Column("contact", sa.Text(), nullable=False),
        sa.Column("basis", sa.Text(), nullable=False),
        sa.Column("purpose", sa.Text(), nullable=False),
        sa.Column("keep_until", sa.Text(), nullable=False),
        sa.Column("erased_on", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_table(
        "shown",
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("work", sa.Text(), nullable=False),
        sa.Column("part", sa.Text(), nullable=False),
        sa.Column("subjects", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.key"]),
        sa.PrimaryKeyConstraint("job", "work", "part"),
    )
    op.create_table(
        "licence",
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("client", sa.Text(), nullable=False),
        sa.Column("granted_on", sa.Text(), nullable=False),
        sa.Column("data", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.key"]),
        sa.PrimaryKeyConstraint("number"),
    )
    op.create_index(op.f("ix_licence_job"), "licence", ["job"], unique=False)
    op.create_table(
        "licence_change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("licence", sa.Text(), nullable=False),
        sa.Column("change", sa.Text(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.CheckConstraint("change in ('first used', 'ended')", name="licence_change_known"),
        sa.ForeignKeyConstraint(["licence"], ["licence.number"]),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_licence_change_licence"), "licence_change", ["licence"], unique=False)
    for statement in guards(op.get_bind().dialect.name, APPEND_ONLY):
        op.execute(statement)
