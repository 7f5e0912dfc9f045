"""The day from which a charge that was given up is owed no more; empty for those given up before, never owed."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the day beside the reason."""
    op.add_column("charge", sa.Column("waived_on", sa.Text(), server_default="", nullable=False))
