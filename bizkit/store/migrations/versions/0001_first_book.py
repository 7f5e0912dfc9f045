"""The first book: quotes, jobs, deliverables, stages, payments, holdings, filed papers, history."""

import sqlalchemy as sa
from alembic import op

from bizkit.store.schema import guards

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

APPEND_ONLY: dict[str, tuple[tuple[str, ...], ...]] = {
    "issued": (("position",), ("number", "revision")),
    "event": (("id",),),
    "payment": (("id",),),
    "filed": (("id",),),
}


def upgrade() -> None:
    """Make the tables, then guard the ones that never change."""
    op.create_table(
        "answer",
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("data", sa.Text(), nullable=False),
        sa.CheckConstraint("answer in ('accepted', 'declined', 'cancelled')", name="answer_known"),
        sa.PrimaryKeyConstraint("number", "revision"),
    )
    op.create_table(
        "draft",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("brief_file", sa.Text(), nullable=False),
        sa.Column("brief", sa.Text(), nullable=False),
        sa.Column("card", sa.Text(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("drafted_at", sa.Text(), nullable=False),
        sa.Column("drafted_by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key"),
    )
    op.create_table(
        "event",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("verb", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("data", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_event_subject"), "event", ["subject"], unique=False)
    op.create_table(
        "filed",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("file", sa.Text(), nullable=False),
        sa.Column("bytes", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("about", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_filed_about"), "filed", ["about"], unique=False)
    op.create_index(op.f("ix_filed_sha256"), "filed", ["sha256"], unique=False)
    op.create_table(
        "issued",
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("series", sa.Text(), nullable=False),
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("issued_on", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("previous", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("position"),
        sa.UniqueConstraint("number", "revision", name="issued_number"),
    )
    op.create_index("issued_kind_key", "issued", ["kind", "key"], unique=False)
    op.create_index("issued_series", "issued", ["series"], unique=False)
    op.create_table(
        "job",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("client", sa.Text(), nullable=False),
        sa.Column("quote_number", sa.Text(), nullable=False),
        sa.Column("quote_revision", sa.Integer(), nullable=False),
        sa.Column("opened_on", sa.Text(), nullable=False),
        sa.Column("closed_on", sa.Text(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("net_minor", sa.Integer(), nullable=False),
        sa.Column("licence", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key"),
        sa.UniqueConstraint("quote_number"),
    )
    op.create_table(
        "payment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("invoice", sa.Text(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("amount_minor", sa.Integer(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("fee_minor", sa.Integer(), nullable=False),
        sa.Column("received_minor", sa.Integer(), nullable=True),
        sa.Column("received_currency", sa.Text(), nullable=False),
        sa.Column("reference", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_payment_invoice"), "payment", ["invoice"], unique=False)
    op.create_table(
        "deliverable",
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("spec", sa.Text(), nullable=False),
        sa.Column("rounds", sa.Integer(), nullable=False),
        sa.Column("due_days", sa.Integer(), nullable=True),
        sa.Column("due_on", sa.Text(), nullable=False),
        sa.Column("approved_on", sa.Text(), nullable=False),
        sa.Column("data", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["job"],
            ["job.key"],
        ),
        sa.PrimaryKeyConstraint("job", "key"),
    )
    op.create_table(
        "holding",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("status", sa.Text(), nullable=False),
        sa.Column("signed_on", sa.Text(), nullable=False),
        sa.Column("expires_on", sa.Text(), nullable=False),
        sa.Column("paper", sa.Text(), nullable=False),
        sa.Column("data", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["job"],
            ["job.key"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_holding_job"), "holding", ["job"], unique=False)
    op.create_table(
        "shoot_day",
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("data", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["job"],
            ["job.key"],
        ),
        sa.PrimaryKeyConstraint("job", "position"),
    )
    op.create_table(
        "stage",
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("percent", sa.Text(), nullable=False),
        sa.Column("due_when", sa.Text(), nullable=False),
        sa.Column("net_minor", sa.Integer(), nullable=False),
        sa.Column("invoice", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["job"],
            ["job.key"],
        ),
        sa.PrimaryKeyConstraint("job", "position"),
    )
    op.create_table(
        "review_round",
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("deliverable", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("received_on", sa.Text(), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("data", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["job", "deliverable"],
            ["deliverable.job", "deliverable.key"],
        ),
        sa.PrimaryKeyConstraint("job", "deliverable", "number"),
    )
    op.create_table(
        "version",
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("deliverable", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("sent_on", sa.Text(), nullable=False),
        sa.Column("sent_to", sa.Text(), nullable=False),
        sa.Column("file", sa.Text(), nullable=False),
        sa.Column("bytes", sa.Integer(), nullable=True),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("data", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["job", "deliverable"],
            ["deliverable.job", "deliverable.key"],
        ),
        sa.PrimaryKeyConstraint("job", "deliverable", "number"),
    )
    for statement in guards(op.get_bind().dialect.name, APPEND_ONLY):
        op.execute(statement)
