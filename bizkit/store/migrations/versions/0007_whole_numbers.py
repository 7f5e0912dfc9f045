"""Amounts and sizes as 64-bit integers on PostgreSQL, where 32 bits end at 2 GB or 21 million pounds."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

WIDER: dict[str, tuple[str, ...]] = {
    "job": ("net_minor",),
    "version": ("bytes",),
    "stage": ("net_minor",),
    "payment": ("amount_minor", "fee_minor", "received_minor"),
    "filed": ("bytes",),
    "money_in": ("amount_minor", "fee_minor", "account_minor"),
    "bank_entry": ("amount_minor", "original_minor"),
    "overhead": ("net_minor", "tax_minor"),
    "input_tax": ("tax_minor",),
    "round_answer": ("amount_minor",),
    "charge": ("amount_minor",),
    "called_off": ("fee_minor",),
    "cost": ("amount_minor", "job_minor"),
}


def upgrade() -> None:
    """Widen the columns; the integers of SQLite are this wide already."""
    if op.get_bind().dialect.name != "postgresql":
        return
    for table, columns in WIDER.items():
        for column in columns:
            op.alter_column(table, column, type_=sa.BigInteger())
