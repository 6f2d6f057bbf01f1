"""The first page of a condition report: verdict, money, findings, actions, entries to check, six measures."""
