"""What every document shares: layout, standards of the PDF, text, tables, attachments."""
