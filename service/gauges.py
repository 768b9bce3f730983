"""What processes beside the workers count; each worker knows of it, and adds it up when asked."""

from __future__ import annotations

from prometheus_client import CollectorRegistry, Gauge


def streams_gauge(registry: CollectorRegistry) -> Gauge:
    """Event streams that are open; set by the process that has them."""
    return Gauge(
        "approach_event_streams",
        "Event streams that are open.",
        registry=registry,
        multiprocess_mode="livesum",
    )
