"""The form that says what of a set is to be printed, and how."""

from __future__ import annotations

from typing import Any

from django import forms

from accounts.wording import WordedForm
from assignments.forms.assigning import DurationField
from assignments.paper.editions import PAGE_NAMES
from assignments.paper.orders import BOOKLET, KINDS, SCHEME, SHEETS, Choices
from assignments.paper.shuffles import MOST_PAPERS

ORDINARY, LARGE = "ordinary", "large"


class PrintForm(WordedForm):
    kinds = forms.MultipleChoiceField(
        label="What to print",
        choices=list(KINDS.items()),
        initial=[BOOKLET, SHEETS, SCHEME],
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick what to print."},
    )
    page = forms.ChoiceField(label="Paper size", choices=list(PAGE_NAMES.items()), initial="a4")
    print = forms.ChoiceField(
        label="Print",
        choices=[(ORDINARY, "Ordinary"), (LARGE, "Large print: 18 point, one question a page")],
        initial=ORDINARY,
        widget=forms.RadioSelect,
        help_text="Large print can also go on A3. Which pupils need it is for the school to decide.",
    )
    a_page = forms.TypedChoiceField(
        label="Questions a page",
        coerce=int,
        choices=[(2, "Two"), (3, "Three")],
        initial=3,
        help_text="In ordinary print. A tall question may take more room; none is split.",
    )
    tinted = forms.BooleanField(
        required=False,
        label="For tinted paper",
        help_text="Put the tinted paper in the printer; the booklet is in black alone, and says on the front that it "
        "is this edition.",
    )
    papers = forms.TypedChoiceField(
        label="Papers",
        coerce=int,
        choices=[(1, "One"), *((n, f"{word}: Paper 1 to {n}") for n, word in ((2, "Two"), (3, "Three"), (4, "Four")))],
        initial=1,
        help_text="Paper 1 is in the order of the set. In the others questions and options stand in another order, "
        "and each has its own mark scheme.",
    )
    seconds = DurationField(label="Time allowed", shortest=10, help_text="Minutes and seconds, for the front page.")
    named = forms.BooleanField(
        required=False,
        label="An answer sheet for each pupil, with the name on it",
        help_text="The papers are handed out in turn, in the order of names.",
    )

    def __init__(self, *args: Any, pupils: int, papers: int = 1, **kwargs: Any) -> None:
        """``papers``: how many were assigned; of several, each is printed as it was assigned."""
        super().__init__(*args, **kwargs)
        self.assigned = papers
        if not pupils:
            del self.fields["named"]
        if papers > 1:
            del self.fields["papers"]
            if pupils:
                self.fields["named"].help_text = "Each bears the paper that the pupil has."

    @property
    def choices(self) -> Choices:
        chosen = self.cleaned_data
        papers = chosen.get("papers", self.assigned)
        assert papers <= MOST_PAPERS, "the field offers no more"
        return Choices(
            kinds=tuple(chosen["kinds"]),
            papers=papers,
            page=chosen["page"],
            large=chosen["print"] == LARGE,
            tinted=chosen["tinted"],
            a_page=chosen["a_page"],
            seconds=chosen["seconds"],
            named=chosen.get("named", False),
        )
