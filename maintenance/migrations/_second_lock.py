"""Row-level security: a policy on every table of a collection, and on what hangs on such a table.

`queries.second_lock` says for each session which collections are in sight. FORCE holds the owner
of the tables to it as well; a superuser, and a role with BYPASSRLS, are held by nothing.
PostgreSQL alone; on SQLite nothing is done.
"""

FUNCTIONS = """
CREATE OR REPLACE FUNCTION everything_in_sight() RETURNS boolean LANGUAGE sql STABLE AS $$
  SELECT current_setting('idle_years.collections', true) = 'everything'
$$;
CREATE OR REPLACE FUNCTION collections_in_sight() RETURNS uuid[] LANGUAGE sql STABLE AS $$
  SELECT CASE WHEN current_setting('idle_years.collections', true) = 'everything' THEN NULL
    ELSE string_to_array(nullif(current_setting('idle_years.collections', true), ''), ',')::uuid[]
  END
$$;
"""

# The functions stand in subqueries so that they are asked once a query and not once a row.
IN_SIGHT = "(SELECT everything_in_sight()) OR {column} = ANY ((SELECT collections_in_sight())::uuid[])"
# The table it hangs on has a policy of its own, which holds within the subquery too.
HANGS_ON = "EXISTS (SELECT 1 FROM {parent} AS parent WHERE parent.id = {table}.{column})"

LOCK = """
ALTER TABLE {table} ENABLE ROW LEVEL SECURITY;
ALTER TABLE {table} FORCE ROW LEVEL SECURITY;
CREATE POLICY in_sight ON {table} USING ({condition});
"""
UNLOCK = """
DROP POLICY in_sight ON {table};
ALTER TABLE {table} NO FORCE ROW LEVEL SECURITY;
ALTER TABLE {table} DISABLE ROW LEVEL SECURITY;
"""


def lock(*models, through="collection"):
    """Return what a migration runs to lock tables by the column that leads to the collection.

    `through` names a foreign key to the collection, or to a row of a table that is locked.
    """

    def forwards(apps, schema_editor):
        if schema_editor.connection.vendor != "postgresql":
            return
        schema_editor.execute(FUNCTIONS, params=None)
        for name in models:
            table, condition = _condition(apps.get_model("maintenance", name), through)
            schema_editor.execute(LOCK.format(table=table, condition=condition), params=None)

    return forwards


def unlock(*models):
    """Return what a migration runs to take the policies of some tables away again."""

    def backwards(apps, schema_editor):
        if schema_editor.connection.vendor == "postgresql":
            for name in models:
                table = apps.get_model("maintenance", name)._meta.db_table
                schema_editor.execute(UNLOCK.format(table=table), params=None)

    return backwards


def _condition(model, through):
    table = model._meta.db_table
    field = model._meta.get_field(through)
    if through == "id" or field.related_model.__name__ == "Collection":
        return table, IN_SIGHT.format(column=field.column)
    parent = field.related_model._meta.db_table
    return table, HANGS_ON.format(parent=parent, table=table, column=field.column)
