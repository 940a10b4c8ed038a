"""The commands by theme; what each needs beyond its options is loaded when it runs, so that --help is quick."""
