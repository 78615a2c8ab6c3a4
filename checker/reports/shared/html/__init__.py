"""What the HTML pages share: templates, and the entry of one finding."""
