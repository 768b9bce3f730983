"""One module per resource; each makes a blueprint from the collaborators."""

from __future__ import annotations

from flask import Blueprint

from service.collaborators import Collaborators
from service.resources.batch import batch
from service.resources.catalogue import catalogue
from service.resources.decisions import decisions
from service.resources.docs import docs
from service.resources.failures import failures
from service.resources.flights import flights
from service.resources.operation import operation
from service.resources.performance import performance
from service.resources.problem_pages import problem_pages
from service.resources.weather import weather


def blueprints(collaborators: Collaborators) -> tuple[Blueprint, ...]:
    """Every resource of the service."""
    return (
        decisions(collaborators),
        batch(collaborators),
        flights(collaborators),
        weather(),
        failures(collaborators),
        performance(collaborators),
        catalogue(collaborators),
        operation(collaborators),
        problem_pages(),
        docs(),
    )
