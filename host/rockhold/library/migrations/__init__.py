"""Steps from one form of the index's tables to the next, run by alembic."""
