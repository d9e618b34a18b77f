/* A file layer for SQLite that remembers what a disk would have: writes are safe only after their sync, names only after
 * their folder's. At the chosen operation the power goes, or the disk says no; cut_restore then leaves the folder as the
 * disk has it. Operations are writes, truncations, syncs, deletions, renames and folder syncs, counted from 1. */
#ifndef CUT_VFS_H
#define CUT_VFS_H

#include <stdbool.h>
#include <stdint.h>

enum cut_how {
    CUT_POWER, /* this operation and all after it never happen */
    CUT_ERROR, /* `span` operations fail with an input/output error, then all is well again */
    CUT_FULL,  /* the same with "disk full" (writes only) */
};
enum cut_keep {
    KEEP_NONE, /* nothing that was not synced is on the disk */
    KEEP_ALL,  /* everything is, the interrupted write included */
    KEEP_SOME, /* any part is, in pieces of 512 bytes, some of them garbage */
    KEEP_MODES
};
struct cut_plan {
    long at; /* 0 = never */
    uint8_t how, keep;
    int span;
    uint64_t seed;
    bool lying; /* syncs do nothing: the test of the test */
};

/* Makes it SQLite's default file layer. Everything in `folder` is modelled. */
void cut_install(const char *folder);
/* Forgets all files (the folder is taken as it stands, wholly on disk) and follows this plan. */
void cut_begin(const struct cut_plan *plan);
/* Operations since cut_begin, and whether the plan struck. */
long cut_count(void);
bool cut_struck(void);
/* Leaves in the folder what the disk has. */
void cut_restore(void);

#endif
