"""The forms that a store has had, each made from the one before it; read by Alembic."""
