"""What processes beside the workers count; each worker knows of it, and adds it up when asked."""

from __future__ import annotations

from prometheus_client import CollectorRegistry, Counter, Gauge


def streams_gauge(registry: CollectorRegistry) -> Gauge:
    """Event streams that are open; set by the process that has them."""
    return Gauge(
        "approach_event_streams",
        "Event streams that are open.",
        registry=registry,
        multiprocess_mode="livesum",
    )


def outbox_gauge(registry: CollectorRegistry) -> Gauge:
    """What is to be sent to webhooks, was sent or has failed; set by the process that sends."""
    return Gauge(
        "approach_webhook_outbox",
        "Events in the outbox of webhooks, by what has become of them.",
        ("state",),
        registry=registry,
        multiprocess_mode="livemax",
    )


def tries_counter(registry: CollectorRegistry) -> Counter:
    """Tries to send, by whether they were taken."""
    return Counter(
        "approach_webhook_tries",
        "Tries to send an event to a webhook, by whether the receiver took it.",
        ("taken",),
        registry=registry,
    )
