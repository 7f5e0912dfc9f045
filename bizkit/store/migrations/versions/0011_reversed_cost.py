"""The cost that a row takes back; 0 for a cost, and for rows of earlier books."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the number beside the receipt."""
    op.add_column("cost", sa.Column("reverses", sa.Integer(), server_default="0", nullable=False))
