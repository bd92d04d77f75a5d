"""The engine of Pull Once: a case and the knowledge base become an assessment, advice, reasons.

Pure Python and numpy; it knows nothing of any window.
"""
