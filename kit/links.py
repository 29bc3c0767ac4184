"""A figure or a name as a link to what proves it, for facts and tables that are put together in a view."""

from __future__ import annotations

from django.urls import reverse
from django.utils.html import format_html
from django.utils.http import urlencode
from django.utils.safestring import SafeString


def linked(url: str, words: object, code: bool = False) -> SafeString:
    """The words as a link; `code`: a tag or a reference, set as such."""
    if code:
        return format_html('<a class="code" href="{}">{}</a>', url, words)
    return format_html('<a href="{}">{}</a>', url, words)


def item_link(tag: object) -> SafeString:
    return linked(reverse("item", args=[str(tag)]), tag, code=True)


def job_link(reference: object) -> SafeString:
    return linked(reverse("job", args=[str(reference)]), reference, code=True)


def register_url(narrowed: dict[str, str]) -> str:
    """The register at all of one's depots, narrowed."""
    return reverse("register") + "?" + urlencode({"depot": "", **narrowed})
