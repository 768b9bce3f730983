"""Aircraft profiles: everything that is known about one type, from a file that an operator owns."""

from __future__ import annotations

from decision.profile.load import load_profile, profile_ids
from decision.profile.types import Detent, Profile

__all__ = ["Detent", "Profile", "load_profile", "profile_ids"]
