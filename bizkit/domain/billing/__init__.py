"""What is owed: billing plan, tax, invoice, payment."""
