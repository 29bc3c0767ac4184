"""What is asked before many pieces are changed at once."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.forms.item import PLACES, LineField
from kit.stores.change_many import LONGEST_NOTE, Change, What

WORDS = {
    What.PLACE: gettext_lazy("Change the place"),
    What.REMARK: gettext_lazy("Add a remark"),
    What.SET_ASIDE: gettext_lazy("Set aside"),
    What.LOST: gettext_lazy("Note as lost"),
}


class ChangeManyForm(forms.Form):
    """`whats` are what the person may do somewhere."""

    what = forms.ChoiceField(label=gettext_lazy("What to do"), widget=forms.RadioSelect)
    place = LineField(
        label=gettext_lazy("Place"),
        max_length=80,
        required=False,
        widget=forms.TextInput(attrs={"list": PLACES}),
        help_text=gettext_lazy(
            "To change the place: rack, bay or shelf. A new name sets up a new place, empty means none."
        ),
    )
    remark = LineField(
        label=gettext_lazy("Remark"),
        max_length=LONGEST_NOTE,
        required=False,
        help_text=gettext_lazy("To add a remark: it is put behind the note that a piece has."),
    )
    why = forms.CharField(
        label=gettext_lazy("Why"),
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=gettext_lazy("One reason for all of them. It goes into the ledger with each piece."),
    )

    def __init__(self, *args: Any, whats: list[What], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["what"].choices = [(what.value, WORDS[what]) for what in whats]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("what") == What.REMARK and not data.get("remark") and "remark" not in self.errors:
            self.add_error("remark", _("Give the remark that is to be added."))
        return data

    def change(self) -> Change:
        data = self.cleaned_data
        text = {What.PLACE: data["place"], What.REMARK: data["remark"]}.get(What(data["what"]), "")
        return Change(What(data["what"]), data["why"].strip(), text)
