"""Due items as iCalendar (RFC 5545): their wording, the text kept of each, the feeds made of it.

Here belongs what a calendar program sees. Who may have a feed is for `services.calendar_feeds`,
what falls due for the engine. No text here depends on the day it is fetched, so that an unchanged
feed stays the same to the byte.
"""
