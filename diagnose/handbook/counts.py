"""What a base holds and where its words and numbers come from, in sentences."""

from collections.abc import Iterable

from knowledge.lint import count_sources
from knowledge.model import KnowledgeBase


def base_lines(base: KnowledgeBase) -> Iterable[str]:
    """Say what a base holds and where its words and numbers come from."""
    yield (
        f"Knowledge {base.version}: {len(base.causes)} causes, {len(base.mechanisms)} mechanisms, "
        f"{len(base.complaints)} complaints, {len(base.checks)} checks, "
        f"{len(base.findings)} findings, {len(base.work)} kinds of work."
    )
    n = count_sources(base)
    yield (
        f"Words and numbers: {n.published} from published sources, {n.common_practice} common "
        f"practice, {n.judgement} judgement."
    )
