"""What a user can put right: one sentence and an exit code. Anything else that is raised is a bug."""


class UserError(Exception):
    """A sentence for the person at the keyboard: what happened, where, and what to do next."""

    exit_code = 3


class WrongUsage(UserError):
    """The command, an option or a word given to it does not exist."""

    exit_code = 2


class InputError(UserError):
    """The input could not be used; nothing changed."""

    exit_code = 3


class NotEnoughRecords(UserError):
    """The book holds too little to answer; says how much there is and how much is needed."""

    exit_code = 4


class BookUnusable(UserError):
    """The book is in use elsewhere, cannot be opened or written, or is not a book of ours."""

    exit_code = 5
