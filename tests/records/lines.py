"""The way to a store that can be cut: a server that is lost, without a server."""

from diagnose.records.errors import ServerLostError


class Line:
    """The way to a store, which can be cut before a call, or after it and before its answer."""

    def __init__(self, store):
        self.store, self.cut, self.calls = store, "", 0

    def open(self):
        if self.cut:
            raise ServerLostError("The server does not answer.")
        return self

    def __getattr__(self, name):
        def call(*arguments):
            self.calls += 1
            if self.cut == "before":
                raise ServerLostError("The server does not answer.")
            done = getattr(self.store, name)(*arguments)
            if self.cut == "after":
                raise ServerLostError("The answer was lost on the way.")
            return done

        return call
