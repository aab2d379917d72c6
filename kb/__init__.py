"""The curated knowledge base: facts with sources and grades, and a little code to read them.

Imports nothing of the other packages of this project.
"""
