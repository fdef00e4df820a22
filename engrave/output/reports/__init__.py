"""What is told about a plan, a page or a source: on a terminal, as JSON, as a table, as text.

``report`` and ``entries`` are the plan and its findings for a reader, ``plan_document`` the same
for programs; each other file is one kind of report. In go values of the road, out come lines,
documents or text. Nothing here plans, engraves or writes a file.
"""
