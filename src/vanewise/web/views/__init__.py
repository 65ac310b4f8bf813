"""One module per group of pages: read the book, call a job, give the template what it shows."""
