"""The day on which notice of a move was given; empty for moves of earlier books."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the day beside the reason."""
    op.add_column("moved_day", sa.Column("noticed_on", sa.Text(), server_default="", nullable=False))
