"""Handing in a register file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django import forms
from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.template.defaultfilters import filesizeformat
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.workbooks.uploads import ENDINGS


class LoadForm(forms.Form):
    file = forms.FileField(
        label=gettext_lazy("Register workbook"),
        max_length=200,
        help_text=gettext_lazy(
            ".xlsx, .ods or .csv. Nothing is written before you have seen what it would do."
        ),
        widget=forms.ClearableFileInput(attrs={"accept": ",".join(ENDINGS)}),
    )

    def clean_file(self) -> Any:
        file: UploadedFile = self.cleaned_data["file"]
        most = settings.REGISTER_UPLOAD_MAX_BYTES
        if Path(file.name or "").suffix.lower() not in ENDINGS:
            raise forms.ValidationError(
                _("%(name)s is no .xlsx, .ods or .csv: save it as one of these and hand that in."),
                params={"name": file.name},
            )
        if (file.size or 0) > most:
            raise forms.ValidationError(
                _(
                    "%(name)s is larger than %(most)s: split the register, or load it by the command load_register."
                ),
                params={"name": file.name, "most": filesizeformat(most)},
            )
        return file
