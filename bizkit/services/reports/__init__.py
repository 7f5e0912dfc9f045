"""Reports on the business, and the accountant's bundle. Each report has one shape: a table, JSON, CSV or a page."""
