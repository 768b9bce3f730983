"""A stored case as it is at a later moment: a patch, new reports, and what is carried on."""

from decision.again.anew import case_anew
from decision.again.merge_patch import merged
from decision.again.patched import FIXED_ANEW, FIXED_VARIED, faults_in, fixed_faults

__all__ = ["FIXED_ANEW", "FIXED_VARIED", "case_anew", "faults_in", "fixed_faults", "merged"]
