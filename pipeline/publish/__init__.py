"""From content to files: which documents, in worker processes, whole or not at all."""
