"""Files looked at, notes and their answers, further rounds agreed, handovers, the archive, schedules."""

import sqlalchemy as sa
from alembic import op

from bizkit.store.schema import guards

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

APPEND_ONLY: dict[str, tuple[tuple[str, ...], ...]] = {
    "file_check": (("id",),),
    "note": (("job", "deliverable", "number"),),
    "note_answer": (("id",),),
    "round_answer": (("job", "deliverable", "number"),),
    "handover": (("number",),),
    "schedule": (("id",),),
}


def upgrade() -> None:
    """Make the tables, then guard the ones that never change."""
    op.create_table(
        "file_check",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("file", sa.Text(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("deliverable", sa.Text(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("wrong", sa.Integer(), nullable=False),
        sa.Column("points", sa.Text(), nullable=False),
        sa.Column("facts", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.key"]),
        sa.ForeignKeyConstraint(["job", "deliverable"], ["deliverable.job", "deliverable.key"]),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_file_check_sha256"), "file_check", ["sha256"], unique=False)
    op.create_table(
        "note",
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("deliverable", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("intake", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("until", sa.Text(), nullable=False),
        sa.Column("frame", sa.Integer(), nullable=True),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job", "deliverable"], ["deliverable.job", "deliverable.key"]),
        sa.PrimaryKeyConstraint("job", "deliverable", "number"),
    )
    op.create_table(
        "note_answer",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("deliverable", sa.Text(), nullable=False),
        sa.Column("note", sa.Integer(), nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.CheckConstraint("answer in ('done', 'declined', 'asked')", name="note_answer_known"),
        sa.ForeignKeyConstraint(["job", "deliverable"], ["deliverable.job", "deliverable.key"]),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("note_answer_note", "note_answer", ["job", "deliverable", "note"], unique=False)
    op.create_table(
        "round_answer",
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("deliverable", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("amount_minor", sa.Integer(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.CheckConstraint("answer in ('yes', 'no')", name="round_answer_known"),
        sa.ForeignKeyConstraint(["job", "deliverable"], ["deliverable.job", "deliverable.key"]),
        sa.PrimaryKeyConstraint("job", "deliverable", "number"),
    )
    op.create_table(
        "handover",
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("folder", sa.Text(), nullable=False),
        sa.Column("how", sa.Text(), nullable=False),
        sa.Column("sent_to", sa.Text(), nullable=False),
        sa.Column("manifest", sa.Text(), nullable=False),
        sa.Column("manifest_sha256", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.key"]),
        sa.PrimaryKeyConstraint("number"),
    )
    op.create_index(op.f("ix_handover_job"), "handover", ["job"], unique=False)
    op.create_index(op.f("ix_handover_manifest_sha256"), "handover", ["manifest_sha256"], unique=False)
    op.create_table(
        "archive",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("since", sa.Text(), nullable=False),
        sa.Column("keep_until", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("gone_on", sa.Text(), nullable=False),
        sa.Column("gone_why", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.key"]),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_archive_job"), "archive", ["job"], unique=False)
    op.create_table(
        "schedule",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("due", sa.Text(), nullable=False),
        sa.Column("steps", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.key"]),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_schedule_job"), "schedule", ["job"], unique=False)
    for statement in guards(op.get_bind().dialect.name, APPEND_ONLY):
        op.execute(statement)
