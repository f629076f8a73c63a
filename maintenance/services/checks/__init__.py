"""What is wrong with a draft, told in full. Plain Python: nothing here reads or writes a table.

Each check yields a problem for every field at fault, with a pointer that begins at the draft. A
single record that has a problem is left out of the checks that compare records with each other.
"""
