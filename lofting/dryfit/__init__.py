"""Dry fit: the flat panels folded up into a boat again, and the gaps that remain."""

from lofting.dryfit.folding import Folded, fold
from lofting.dryfit.gaps import DryFit, SeamGap, dry_fit

__all__ = ["DryFit", "Folded", "SeamGap", "dry_fit", "fold"]
