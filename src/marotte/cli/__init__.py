"""The command ``marotte``: the only package that prints. One file a command, in commands/."""
