"""For all templates: `{{ reason.text|said }}`, a sentence of the program in the language of the page, and `date` with
the points that the language puts.
"""

from django import template

from kit.days import for_template
from kit.sentences import said

register = template.Library()
register.filter("said", said, is_safe=False)
register.filter("date", for_template, expects_localtime=True, is_safe=False)
