"""Drafting source profiles: from a file nobody has described yet to a profile that a person confirms."""

from pipeline.draft.build import Draft, Mapped, draft_profile
from pipeline.draft.document import Ask

__all__ = ["Ask", "Draft", "Mapped", "draft_profile"]
