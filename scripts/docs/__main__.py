"""``python -m scripts.docs``: write the pages and name them."""

import sys

from scripts.docs import write_pages

if __name__ == "__main__":
    for path in write_pages():
        sys.stdout.write(f"{path.parent.name}/{path.name}\n")
