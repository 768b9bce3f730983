"""Acceptance from outside: from the written semantics alone, on bodies in and answers out."""
