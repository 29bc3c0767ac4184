"""How tags and job references stand in an address: they may hold slashes and spaces, but nothing unseen."""

from django.urls.converters import StringConverter


class NameConverter(StringConverter):
    """A tag or reference as it is. Control characters are in no name, and PostgreSQL refuses some of them."""

    regex = r"[^\x00-\x1f\x7f]+"
