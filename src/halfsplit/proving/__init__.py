"""Proving the mend: which tests it needs, what each should read, its limit, and the verdict."""

from halfsplit.proving.prove import prove
from halfsplit.proving.result import Expected, Limit, Proof, Verdict, Wanted

__all__ = ["Expected", "Limit", "Proof", "Verdict", "Wanted", "prove"]
