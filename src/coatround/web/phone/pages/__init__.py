"""The pages that record a visit, one module a page."""
