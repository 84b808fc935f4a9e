"""The one way this project says no."""


class LabError(Exception):
    """A refusal that names the value, what would be right, and what to do.

    Parameters
    ----------
    code : str
        Short stable name of the reason, in kebab case [-].
    message : str
        What the person reads; ``{name}`` fields are filled from `parts` [-].
    **parts : object
        The values the message names; kept so that callers can act on them [-].

    Examples
    --------
    >>> str(LabError("too-much", "{wanted} is wanted and {left} is left: take less.", wanted="5 mL", left="3 mL"))
    '5 mL is wanted and 3 mL is left: take less.'
    """

    def __init__(self, code: str, message: str, /, **parts: object) -> None:
        self.code = code
        self.parts = parts
        self.message = message.format(**parts) if parts else message
        super().__init__(self.message)

    def __reduce__(self) -> tuple[object, ...]:
        return (_rebuild, (self.code, self.message, self.parts))


def _rebuild(code: str, message: str, parts: dict[str, object]) -> LabError:
    error = LabError(code, "")
    error.message, error.parts, error.args = message, parts, (message,)
    return error
