"""Circuits to try the tool on: published data sheet and textbook applications, each an ordinary design file.

Every room was chosen by arithmetic before the tool saw the circuit; its docstring says how many times the area of all
courtyards it holds.
"""
