"""Looking at delivered files. Needs the optional extra `masters` (PyAV, Pillow, numpy).

`bizkit.masters.look` is the door: it starts one watched process a file, so that a hostile or broken file can do no
worse than end in a clear error.
"""
