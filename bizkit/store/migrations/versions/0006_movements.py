"""Which account a movement is of, and what its statement calls it."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns; what was read before stays as it was and is known by its key and its facts."""
    for name in ("account", "own_id"):
        op.add_column("bank_entry", sa.Column(name, sa.Text(), server_default="", nullable=False))
