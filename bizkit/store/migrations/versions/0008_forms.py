"""Forms written to be signed, each under its number, with what it asks for."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table. Papers written before carry no number and are filed by their terms."""
    op.create_table(
        "form",
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("series", sa.Text(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("terms", sa.Text(), nullable=False),
        sa.Column("data", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.key"]),
        sa.PrimaryKeyConstraint("number"),
    )
    op.create_index(op.f("ix_form_job"), "form", ["job"], unique=False)
    op.create_index(op.f("ix_form_series"), "form", ["series"], unique=False)
