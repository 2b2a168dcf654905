"""The workbench: a folder of captures in a browser on this machine, over the same library."""
