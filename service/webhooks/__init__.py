"""Webhooks: events sent to receivers that the settings allow, signed, again and again until taken.

`target` (where may be sent), `signing` (RFC 9421 and RFC 9530), `sending` (one try), `secrets`
(shown once, kept encrypted), `delivering` (what is due, by whom, when again).
"""
