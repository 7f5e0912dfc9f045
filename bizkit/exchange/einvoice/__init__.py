"""EN 16931 electronic invoices out of a frozen invoice document: CII, UBL (Peppol BIS Billing 3), and hybrid PDF."""
