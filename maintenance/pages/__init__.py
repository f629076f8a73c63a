"""Pages for people in a browser, made on the server: signing in, tokens, a due item's working.

They parse, ask a service or a query and draw a template, as the API does beside them. No page has
a script; all of them share `static/pages/idle-years.css`, and the policy in `deploy/headers.py`
lets nothing else in. What members do with cars goes over the API.
"""
