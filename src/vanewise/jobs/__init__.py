"""One function for each thing a person does. The command line and the web call these and nothing deeper.

``compute`` needs no store and imports no Django; the others keep something and write once, in one transaction.
"""
