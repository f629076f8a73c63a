"""Pages for the people who run the service: every table to look at, descriptions to put right.

Evidence is only shown: it is corrected by a later record that says why, through the API or a
history file. What is changed here is computed anew, like any other change.
"""

from django.contrib import admin

from maintenance.admin import nouns, rounds

admin.site.site_header = admin.site.site_title = "Idle Years"

__all__ = ["nouns", "rounds"]
