"""The job screen, its dialogs and the closed page."""
