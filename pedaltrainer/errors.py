"""The one error a player can cause."""


class InputError(Exception):
    """Something the user gave cannot be used.

    The message is one sentence that names the value, file or line and the
    mend. The command line prints it and exits with code 2; nothing has been
    changed on disk when it is raised.
    """
