"""What can go wrong with people and classes. ``str()`` of each is the sentence to show, beside ``field``."""

from __future__ import annotations

from datetime import datetime


class AccountsError(Exception):
    """The root of all errors of this package."""

    field: str | None = None


class NotAllowedError(AccountsError):
    """The person who asks may not do this."""


class NameTakenError(AccountsError):
    """Two pupils of a class, or two classes of a school, would have one name."""

    field = "name"


class EmailTakenError(AccountsError):
    """The e-mail address has an account already, here or in another school."""

    field = "email"

    def __init__(self) -> None:
        super().__init__("There is already an account with this e-mail address.")


class LastAdministratorError(AccountsError):
    """The school would be left without anybody to look after its staff."""

    field = "role"

    def __init__(self) -> None:
        super().__init__(
            "A school needs an administrator who can sign in. "
            "Make someone else one first, and wait until they have set a password."
        )


class OwnAccountError(AccountsError):
    """Administrators do not shut themselves out."""

    def __init__(self) -> None:
        super().__init__("You cannot disable your own account; another administrator can.")


class StaleCardsError(AccountsError):
    """New PINs were made since the page that asks for them was opened."""


class BadListError(AccountsError):
    """A list of pupils that cannot be read at all."""

    field = "text"


class NothingAddedError(AccountsError):
    """The class has changed since the list was looked over, so none of it was added."""


class InvitationSpentError(AccountsError):
    """The link is unknown, used, replaced by a newer one, or older than a day."""

    def __init__(self) -> None:
        super().__init__(
            "This link can no longer be used. It works once, for 24 hours. "
            "Ask your school’s administrator for a new one; the administrator asks whoever runs this server."
        )


class SignInRefusedError(AccountsError):
    """The details typed fit nobody. One sentence, whichever of them is wrong."""


class SignInLockedError(AccountsError):
    """Too many failures; ``until`` is when the next try counts again."""

    def __init__(self, says: str, *, until: datetime) -> None:
        super().__init__(says)
        self.until = until


class WrongPasswordError(AccountsError):
    """Somebody signed in does not know the account's password."""

    field = "current"

    def __init__(self) -> None:
        super().__init__("This is not your current password.")


class WrongCodeError(AccountsError):
    """The code of the second factor is not the one that is due, or has been used."""

    field = "code"


class PasskeyRefusedError(AccountsError):
    """What a browser says for a passkey is not what was asked, not of it, or of no passkey known here."""


class LastFactorError(AccountsError):
    """Whoever finds a computer open could else do away with the second factor."""

    def __init__(self) -> None:
        super().__init__("This is your only second factor. Set up another first, or ask your administrator.")


class ProviderAwayError(AccountsError):
    """The school's provider of sign-in cannot be asked."""

    def __init__(self) -> None:
        super().__init__("Your school’s sign-in does not answer. Try again later, or sign in with your password.")


class ProviderRefusedError(AccountsError):
    """What came back from the provider is not an answer to what was asked, or not to be believed."""

    def __init__(self) -> None:
        super().__init__("Signing in at your school was not completed. Start once more.")


class OnlyWayInError(AccountsError):
    """Without the school's own sign-in the person could not come in again."""

    def __init__(self) -> None:
        super().__init__(
            "This is your only way in: you have neither a password nor a passkey here. "
            "Ask your administrator for a link to set a password first."
        )


class UnverifiedEmailError(AccountsError):
    """Anybody may have typed the e-mail address there."""

    def __init__(self) -> None:
        super().__init__("Your school’s sign-in has not verified your e-mail address, so it cannot let you in here.")


class NotInvitedError(AccountsError):
    """Whom the provider means has no account of this school that may come in."""

    def __init__(self) -> None:
        super().__init__(
            "There is no account here for you. Your school’s sign-in opens none: ask your administrator to invite you."
        )


class OtherPersonError(AccountsError):
    """The e-mail address was somebody else's at the provider when the account was first used."""

    def __init__(self) -> None:
        super().__init__(
            "This e-mail address belonged to somebody else at your school’s sign-in. "
            "Ask your administrator to make a new link for your account."
        )


class FactorSetError(AccountsError):
    """Somebody, in another window, has set a second factor up already."""

    field = "code"

    def __init__(self) -> None:
        super().__init__("A second factor has just been set up for this account. Open the page again.")
