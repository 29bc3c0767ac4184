"""Answers that are text go out compressed: a phone in a yard with poor signal loads the page all the same."""

from __future__ import annotations

from typing import Final

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware

# What is packed already (spreadsheets, PDF, photos) only costs time to pack once more.
WORTH_PACKING: Final = (
    "text/",
    "application/json",
    "application/javascript",
    "image/svg+xml",
    "application/manifest+json",
)


class CompressText(GZipMiddleware):
    """Django's own, for text only; it adds bytes at random, so that the length tells nothing of what a page hides."""

    def process_response(self, request: HttpRequest, response: HttpResponseBase) -> HttpResponseBase:
        if not response.get("Content-Type", "").startswith(WORTH_PACKING):
            return response
        return super().process_response(request, response)
