"""Money asked for and money received: invoices, credit, payments, bank, lateness, mail; what is paid."""
