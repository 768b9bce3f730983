"""Decides a case through the generated client, reads the record again, asks with a wrong mass.

Usage: python decide.py ADDRESS CASE.json, beside the generated package `approach_client`; prints
one JSON object. It is run in an environment of its own, never imported by the tests.
"""

import json
import sys
from pathlib import Path

from approach_client.api.decisions import decide, read_decision
from approach_client.client import Client
from approach_client.models import Answer, Case, ProblemDocument

address, file = sys.argv[1:]
client = Client(base_url=address)
body = Case.from_dict(json.loads(Path(file).read_text(encoding="utf-8")))

decided = decide.sync(client=client, body=body)
assert isinstance(decided, Answer), decided
read = read_decision.sync(decided.id, client=client)

body.aircraft.mass_kg = 1
refused = decide.sync(client=client, body=body)
assert isinstance(refused, ProblemDocument), refused
told = {
    "verdict": decided.verdict,
    "aerodrome": decided.action.aerodrome,
    "same": read == decided,
    "refused": refused.errors[0].pointer,
}
sys.stdout.write(json.dumps(told))
