"""How the service is put together and run: settings, root routes, server entry points.

Also here, though not Python: the commands `demo` and `test`. Nothing that knows about cars.
"""
