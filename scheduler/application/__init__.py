"""The only shell: reads the clock, files and the ledger, runs the pass, writes what comes out."""
