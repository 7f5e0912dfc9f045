"""Bank statements in: CSV with mapped columns, and camt.053 of ISO 20022. Nothing is booked here."""
