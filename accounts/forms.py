"""Forms: typed text into values, with a sentence for what cannot be understood. They save nothing."""

from __future__ import annotations

from typing import Any, Self

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest

from accounts.errors import AccountsError, BadListError
from accounts.models import Role, SchoolClass, User
from accounts.names import BadNameError, tidy_name
from accounts.pupil_lists import MAX_EXTRA_TIME
from accounts.uploads import MAX_BYTES, decode_list
from accounts.wording import TicksOfRowsField, WordedForm, a_whole_number, of_a_password

PASSWORD_HELP = "At least 10 characters; 15 are better. Several words in a row make a good one."  # noqa: S105


class Form(WordedForm):
    """A form that can also say why a service refused what was typed."""

    @classmethod
    def of(cls, request: HttpRequest, **kwargs: Any) -> Self:
        """The form as sent by POST; empty, or with its ``initial``, when the page is only asked for."""
        if request.method == "POST":
            return cls(request.POST, request.FILES, **kwargs)
        return cls(**kwargs)

    def refuse(self, error: AccountsError) -> None:
        self.add_error(error.field if error.field in self.fields else None, str(error))


class NameField(forms.CharField):
    """A name of a person or class, made fit to keep."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("error_messages", {"required": "Write a name."})
        super().__init__(**kwargs)

    def clean(self, value: Any) -> str:
        typed = super().clean(value)
        try:
            return tidy_name(typed)
        except BadNameError as error:
            raise forms.ValidationError(str(error)) from error


class PasswordField(forms.CharField):
    def __init__(self, *, autocomplete: str, **kwargs: Any) -> None:
        widget = forms.PasswordInput(attrs={"autocomplete": autocomplete})
        super().__init__(widget=widget, strip=False, max_length=256, **kwargs)


class PupilSignInForm(Form):
    # A tablet is shared: the browser is asked to remember none of this.
    code = forms.CharField(
        label="Class code",
        max_length=40,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}),
    )
    name = forms.CharField(
        label="Your name",
        max_length=200,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "words", "spellcheck": "false"}),
    )
    pin = forms.CharField(
        label="Your PIN",
        max_length=40,
        help_text="The six numbers on your card.",
        widget=forms.PasswordInput(attrs={"autocomplete": "off", "inputmode": "numeric", "class": "pin"}),
    )


class AdultSignInForm(Form):
    email = forms.CharField(
        label="E-mail address",
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "username"}),
    )
    password = PasswordField(label="Password", autocomplete="current-password")


class CodeForm(Form):
    """The code of the second factor, or one for recovery."""

    code = forms.CharField(
        label="Code",
        max_length=40,
        error_messages={"required": "Write the code."},
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "spellcheck": "false", "class": "pin"}),
    )


class PasskeyForm(Form):
    """A passkey to be made: what to call it, and the password of whoever sits there, if the account has one."""

    name = NameField(label="Name of the passkey", max_length=60, help_text="For instance the device: Staff laptop.")
    current = PasswordField(label="Current password", autocomplete="current-password")

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not user.has_usable_password():
            del self.fields["current"]


class AnswerForm(Form):
    """What a browser answers for a passkey: JSON, filled in by the script."""

    credential = forms.CharField(max_length=20_000)


class ClassForm(Form):
    name = NameField(
        label="Name of the class", max_length=60, help_text="As your school says it, for instance 6 Larch."
    )
    teachers = TicksOfRowsField(
        label="Who takes it",
        queryset=User.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, *args: Any, staff: Any = None, **kwargs: Any) -> None:
        """``staff`` are the adults to choose from; None for someone who may not choose."""
        super().__init__(*args, **kwargs)
        if staff is None:
            del self.fields["teachers"]
        else:
            self.fields["teachers"].queryset = staff  # type: ignore[attr-defined]


class PupilForm(Form):
    name = NameField(
        label="Name",
        max_length=200,
        help_text="What the pupil writes to sign in. A first name, initials or a number are enough.",
    )
    extra_time = forms.ChoiceField(
        label="Extra time",
        help_text="Set what the school has agreed. The reason is never asked for and should not be noted here.",
        choices=[("0", "None"), ("25", "25 %"), ("50", "50 %"), ("own", "Another figure")],
        initial="0",
        widget=forms.RadioSelect,
    )
    own_extra_time = forms.IntegerField(
        label="Another figure, in per cent",
        required=False,
        min_value=1,
        max_value=MAX_EXTRA_TIME,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )

    rest_breaks = forms.BooleanField(
        label="May take rest breaks",
        required=False,
        help_text="Set what the school has agreed. In a break the clock stops and the question is hidden. "
        "For many pupils this suits better than extra time.",
    )

    @staticmethod
    def initial_of(pupil: User) -> dict[str, Any]:
        usual = pupil.extra_time in (0, 25, 50)
        return {
            "name": pupil.name,
            "extra_time": str(pupil.extra_time) if usual else "own",
            "own_extra_time": None if usual else pupil.extra_time,
            "rest_breaks": pupil.rest_breaks,
        }

    def clean(self) -> dict[str, Any]:
        """``percent`` is the extra time chosen, whichever way."""
        cleaned = super().clean() or {}
        choice = cleaned.get("extra_time")
        if choice == "own":
            cleaned["percent"] = cleaned.get("own_extra_time")
            if cleaned["percent"] is None and "own_extra_time" not in self.errors:
                self.add_error("own_extra_time", a_whole_number(1, MAX_EXTRA_TIME))
        elif choice is not None:
            self.errors.pop("own_extra_time", None)  # what stands in a field not chosen does not matter
            cleaned["percent"] = int(choice)
        return cleaned


class PupilListForm(Form):
    text = forms.CharField(
        label="Paste a list",
        required=False,
        strip=False,
        help_text="One pupil a line, straight from a spreadsheet or typed.",
        widget=forms.Textarea(attrs={"rows": 10, "spellcheck": "false", "autocomplete": "off"}),
    )
    file = forms.FileField(
        label="Or choose a CSV file",
        required=False,
        allow_empty_file=True,
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,.tsv,text/csv,text/plain"}),
    )

    def clean_file(self) -> str:
        """The text of the file, or nothing."""
        file: UploadedFile | None = self.cleaned_data["file"]
        if file is None:
            return ""
        try:
            return decode_list(file.read(MAX_BYTES + 1)) or " "
        except BadListError as error:
            raise forms.ValidationError(str(error)) from error

    def clean(self) -> dict[str, Any]:
        """``text`` is the list, wherever it came from."""
        cleaned = super().clean() or {}
        typed, uploaded = cleaned.get("text", ""), cleaned.get("file", "")
        if typed.strip() and uploaded:
            self.add_error("file", "Paste a list or choose a file, not both. Your pasted list is still here.")
        elif not self.errors:
            cleaned["text"] = uploaded or typed
        return cleaned


class SourceForm(Form):
    """From which class pupils come: one that the person looks after as well."""

    source = forms.ModelChoiceField(
        label="From which class",
        queryset=SchoolClass.objects.none(),
        empty_label=None,
        error_messages={"required": "Choose a class.", "invalid_choice": "Choose one of your other classes."},
    )

    def __init__(self, *args: Any, classes: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["source"].queryset = classes  # type: ignore[attr-defined]


class BringForm(SourceForm):
    """Which pupils come, and whether they leave the class they come from."""

    HOW = (
        ("move", "Move: they leave the class they come from"),
        ("also", "Also enrol: they stay there as well"),
    )
    pupils = TicksOfRowsField(
        queryset=User.objects.none(),
        error_messages={
            "required": "Choose at least one pupil.",
            "invalid_choice": "The class has changed since this page was opened. Look the pupils over again.",
        },
    )
    how = forms.ChoiceField(
        label="What happens to their old place",
        choices=HOW,
        initial="move",
        widget=forms.RadioSelect,
        error_messages={"required": "Say whether they move or are enrolled as well."},
    )

    def __init__(self, *args: Any, source: SchoolClass, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["pupils"].queryset = User.objects.pupils().filter(enrolments__school_class=source)  # type: ignore[attr-defined]


class StaffForm(Form):
    name = NameField(label="Name", max_length=200)
    email = forms.EmailField(label="E-mail address", max_length=254, help_text="To sign in with. No mail is sent.")
    role = forms.ChoiceField(
        label="Role",
        choices=[choice for choice in Role.choices if choice[0] != Role.PUPIL],
        initial=Role.TEACHER,
        widget=forms.RadioSelect,
    )

    def clean_email(self) -> str:
        return self.cleaned_data["email"].lower()


class NewPasswordForm(Form):
    password = PasswordField(label="New password", autocomplete="new-password", help_text=PASSWORD_HELP)

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user = user

    def clean_password(self) -> str:
        password = self.cleaned_data["password"]
        try:
            validate_password(password, self.user)
        except forms.ValidationError as refusal:
            raise of_a_password(refusal) from refusal
        return password


class ChangePasswordForm(NewPasswordForm):
    current = PasswordField(label="Current password", autocomplete="current-password")
    field_order = ("current", "password")
