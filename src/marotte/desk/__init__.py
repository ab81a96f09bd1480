"""An open creature: edit, undo, recheck, save. The command and the page both work through it."""
