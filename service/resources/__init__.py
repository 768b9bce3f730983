"""One module per resource; each makes a blueprint from the collaborators."""

from __future__ import annotations

from flask import Blueprint

from service.collaborators import Collaborators
from service.resources.decisions import decisions
from service.resources.operation import operation
from service.resources.problem_pages import problem_pages


def blueprints(collaborators: Collaborators) -> tuple[Blueprint, ...]:
    """Every resource of the service."""
    return (
        decisions(collaborators),
        operation(collaborators),
        problem_pages(),
    )
