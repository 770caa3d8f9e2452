"""The console as one program: the live desk and the coordinator's pages, served together."""
