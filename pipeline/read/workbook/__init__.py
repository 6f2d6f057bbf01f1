"""Workbooks (xlsx, xls, ods) to cells, in bounds of memory."""
