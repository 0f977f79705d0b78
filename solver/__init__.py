"""What happens in between: section, mesh, balances, marching, results and their assessment.

Imports ``stemwall.materials`` and ``stemwall.weather``; never ``stemwall.cases``.
"""
