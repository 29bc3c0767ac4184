"""`{{ reason.text|said }}`: a sentence of the program in the language of the page."""

from django import template

from kit.sentences import said

register = template.Library()
register.filter("said", said, is_safe=False)
