"""What is drawn with: colours, pages, labels, axes, lines over and under a figure."""
