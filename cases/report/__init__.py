"""The report page: findings, tables, figures, drawings."""
