"""What ends a command before it is done; a module of its own, so that ``--help`` needs no frames."""


class CannotDo(Exception):
    """What could not be done and what to do about it; nothing was changed (exit code 3)."""

    def __init__(self, message: str, hint: str) -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint


class WrongUsage(CannotDo):
    """The call's words are off (exit code 2)."""


class OlderLayout(CannotDo):
    """A store of an older layout, which reading alone does not bring up."""
