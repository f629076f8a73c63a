"""The spreadsheet: entries of the history, one a row, as CSV or XLSX.

In: `csv_rows` and `workbook` make rows of cells of the bytes, `headings` matches people's own
columns, `cells` reads days and numbers, `visits` puts rows of one visit together, `additions` finds
what a car lacks and what is wrong, `import_entries` writes all or nothing. Out: `export_entries`.
`places` says where in the sheet something is wrong.
"""
