"""Stocks of labels of the depots' own: sheets and rolls by their millimetres."""

from django.db import models
from django.db.models import Q


def _length() -> models.DecimalField:
    return models.DecimalField(max_digits=6, decimal_places=2, default=0)


class LabelPaper(models.Model):
    """One stock of labels, as `kit.label_stock.LabelStock` has it. Its code stays; a withdrawn one is not offered."""

    code = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=80)
    page_width_mm = _length()
    page_height_mm = _length()
    label_width_mm = _length()
    label_height_mm = _length()
    columns = models.PositiveSmallIntegerField(default=1)
    rows = models.PositiveSmallIntegerField(default=1)
    left_mm = _length()
    top_mm = _length()
    pitch_x_mm = _length()
    pitch_y_mm = _length()
    withdrawn = models.BooleanField(default=False)

    class Meta:
        ordering = ["name", "code"]
        constraints = [
            models.CheckConstraint(condition=~Q(code="") & ~Q(name=""), name="label_paper_has_a_name"),
            models.CheckConstraint(
                condition=Q(columns__gte=1, rows__gte=1, label_width_mm__gt=0, label_height_mm__gt=0),
                name="label_paper_has_labels",
            ),
            models.CheckConstraint(
                condition=Q(label_width_mm__lte=models.F("page_width_mm"))
                & Q(label_height_mm__lte=models.F("page_height_mm")),
                name="label_fits_its_paper",
            ),
        ]

    def __str__(self) -> str:
        return self.name
