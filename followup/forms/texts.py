"""The form in which a practice writes a message in its own words."""

from __future__ import annotations

from dataclasses import replace

from django import forms
from django.http import QueryDict

from followup.domain.own_words import Part, fault_in, tidy
from followup.domain.wording import Text


class OwnTextForm(forms.Form):
    """Three fields, each judged by itself; nothing typed is lost. `seen`: which state of the text the page showed."""

    subject = forms.CharField(label="Subject of the e-mail", required=False, strip=False)
    body = forms.CharField(
        label="E-mail", required=False, strip=False, widget=forms.Textarea(attrs={"rows": 7, "dir": "auto"})
    )
    short = forms.CharField(
        label="Text message",
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 3, "dir": "auto"}),
        help_text="Left empty: ours is sent.",
    )
    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, ours: Text, known: Text, seen: str, typed: QueryDict | None) -> None:
        """`known`: the words to go on from. `typed` None: nothing was sent yet."""
        super().__init__(typed, initial={**{part.value: getattr(known, part.value) for part in Part}, "seen": seen})
        self.ours = ours
        self.checked = typed is not None

    def clean(self) -> None:
        """Line ends of one kind, and a sentence at each field that cannot be sent."""
        for part in Part:
            self.cleaned_data[part.value] = words = tidy(self.cleaned_data.get(part.value, ""))
            if fault := fault_in(words, self.ours, part):
                self.add_error(part.value, fault)

    def own(self) -> Text:
        """The words, with our cautions. Only after `is_valid`. No text message of its own: ours."""
        typed = {part.value: self.cleaned_data[part.value] for part in Part}
        return replace(self.ours, **typed)
