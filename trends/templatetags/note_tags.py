"""When something on the land happened, in a template: ``{{ note|note_when }}``."""

from django import template

from trends.note_dates import when

register = template.Library()
register.filter("note_when", when)
