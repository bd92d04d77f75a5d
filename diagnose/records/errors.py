"""What can go wrong with the store; each with a sentence and a next step."""

from diagnose.errors import PullOnceError


class StoreError(PullOnceError):
    """The store refused something, or could not do it; what it holds is unchanged."""


class ServerLostError(StoreError):
    """The store's server does not answer; what was sent may or may not have arrived."""
