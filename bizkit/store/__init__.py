"""The book: SQLAlchemy Core tables, unit of work, plain reads. SQLite by default, PostgreSQL by URL."""
