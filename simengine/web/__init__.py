"""What all pages of the console share: who asks, forms, templates, limits, scenario files."""
