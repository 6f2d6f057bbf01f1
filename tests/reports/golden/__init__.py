"""Documents held at three heights: view-model, HTML without style, text of the pages; and a few pages as pictures."""
