"""One file for each command: ``add_arguments(parser)`` and ``run(args)``; read, call, print."""
