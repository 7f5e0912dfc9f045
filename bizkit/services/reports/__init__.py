"""Reports on the business. Each returns the same shape, which becomes a table, JSON, CSV or a page with a chart."""
