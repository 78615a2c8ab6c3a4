"""What several reports share: words, pages, drawings, and the records behind a report."""
