"""The HTTP service: routes, schemas, storage. It decides nothing; `decision` does."""
