"""Ways to reach a member, one a module; `registry` lists them.

A channel is an object with the attributes and methods of `contract.Channel`. To add one, write
its module and name it in `registry.CHANNELS`.
"""
