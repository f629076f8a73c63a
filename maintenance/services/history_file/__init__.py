"""The history file: cars with all that is recorded of them, as one JSON document.

In: `read` makes a tree of the bytes, `shape` says which keys and types there are, `contents` turns
it into drafts, `check` tells every error at once, `import_history` writes all or nothing. Out:
`stored` reads the drafts back, `export_history` orders and prints them. `schema` publishes the
format as a JSON Schema.
"""
