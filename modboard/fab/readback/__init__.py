"""Strict readers of the files a board house takes, written without a line of the code that writes them."""
