/* Store: the journal, one SQLite file per station. docs/journal.md is the format, exact enough for an independent checker.
 *
 * The journal table is the truth and only ever grows; the other tables are projections that store_rebuild makes anew. */
#ifndef STORE_STORE_H
#define STORE_STORE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define STORE_HASH 32  /* BLAKE2b-256 */
#define STORE_WHY 240  /* room for one sentence of error with NUL */
#define STORE_BATCH 40 /* a batch id with NUL */

struct store;

enum store_result {
    STORE_OK = 0,
    STORE_NONE = -1,    /* nothing there (no such batch, no journal yet in read mode) */
    STORE_BUSY = -2,    /* another program writes this journal */
    STORE_DENIED = -3,  /* the folder or the file can't be written (read) */
    STORE_FOREIGN = -4, /* the file is not a Tareline journal, or of a newer version */
    STORE_FULL = -5,    /* no space left: nothing was stored */
    STORE_BROKEN = -6,  /* the chain does not verify, or SQLite finds damage */
    STORE_SYSTEM = -7,
};

/* STORE_REPAIR: as STORE_WRITE, but first makes the projections and lost guards anew (store_rebuild); makes no journal. */
enum store_mode { STORE_READ, STORE_WRITE, STORE_REPAIR };

/* One entry. Strings are the caller's on append, the store's (valid during the callback) on reading. batch and person
 * may be "" . payload is a JSON object; masses are integers under keys that end in _pg. */
struct entry {
    int64_t seq;
    int64_t utc_us;   /* since 1970-01-01T00:00Z */
    uint64_t mono_us; /* the station's monotonic clock */
    const char *kind, *batch, *person, *payload;
    uint8_t prev[STORE_HASH], hash[STORE_HASH];
};

/* Where the chain stands: the number and hash of the newest entry; seq 0 and a zero hash in an empty journal. */
struct store_head {
    int64_t seq;
    uint8_t hash[STORE_HASH];
};

/* Opens (STORE_WRITE: makes, in a folder that is there) the journal at path. application_id and user_version are read from the
 * first 100 bytes before SQLite opens the file. A writer holds a lock until closed. why: one sentence on failure. */
enum store_result store_open(struct store **out, const char *path, enum store_mode mode, char why[STORE_WHY]);
void store_close(struct store *s); /* NULL is allowed */
/* The default path: TARELINE_JOURNAL, else XDG_DATA_HOME/tareline/journal.db, else ~/.local/share/tareline/journal.db. *ours:
 * one of the latter two, whose folders a writer may make. */
bool store_default_path(char *buf, size_t cap, bool *ours);
/* The folders of a path, 0700. Only for a place of our own: a folder that a person named and that is not there may be a disk
 * that is not mounted. */
enum store_result store_make_folders(const char *path, char why[STORE_WHY]);

/* False for a wall time before 2024: the clock of the machine was never set. */
bool store_clock_set(int64_t utc_us);

/* The newest entry: for a writer always, for a reader as it was when the journal was opened. */
struct store_head store_head(const struct store *s);
/* Appends and commits (synchronous): on STORE_OK it is on disk and *head is the new head. Otherwise nothing was stored and the
 * journal may be used again. seq, prev and hash of e are ignored on the way in. */
enum store_result store_append(struct store *s, const struct entry *e, struct store_head *head, char why[STORE_WHY]);
/* The hash of an entry that would follow prev: the chain's one definition, also used to replay without a file. */
void store_hash_entry(const struct store_head *prev, const struct entry *e, uint8_t out[STORE_HASH]);

/* Keeps the full text of a file that a batch used, once, under its hash (hex in *hash_hex, 65 bytes with NUL): an entry of
 * kind "text" whose payload is {"name":..,"hash":..,"text":..}; if the hash is already there nothing is appended. */
enum store_result store_keep_text(struct store *s, int64_t utc_us, uint64_t mono_us, const char *name, const char *text,
                                  size_t len, char hash_hex[65], char why[STORE_WHY]);
/* The hash alone, as store_keep_text would give it. */
void store_text_hash(const char *text, size_t len, char hash_hex[65]);
/* A kept text by its hash into buf; its length, or a negative store_result (STORE_FULL: cap is too small). */
int64_t store_text(struct store *s, const char *hash_hex, char *buf, size_t cap);

/* Newest batch whose last state is not complete, stopped or aborted; "" if none. */
enum store_result store_open_batch(struct store *s, char batch[STORE_BATCH]);
/* Newest batch that is complete, stopped or aborted, with that state; "" if none. */
enum store_result store_last_closed(struct store *s, char batch[STORE_BATCH], char state[16]);

#define STORE_LOT 32
/* Lots that this ingredient (its key) was weighed from among the newest 4,000 entries, newest first: how many, at most max. */
int store_recent_lots(struct store *s, const char *ingredient, char lots[][STORE_LOT], int max);

/* A batch as the journal has it; strings are valid during the callback. */
struct store_batch {
    const char *batch, *state, *person; /* person: who began it */
    int64_t first_seq, last_seq;        /* of its STARTED entry and of its newest one */
    int64_t started_us, newest_us;      /* their wall times */
    const char *payload;                /* of its STARTED entry */
};
/* Calls `each` for every batch, in the order in which they began; a true return stops. */
enum store_result store_batches(struct store *s, bool (*each)(void *self, const struct store_batch *b), void *self);

/* Calls `each` for the entries of a batch (NULL: all) in order of seq; a true return stops. */
enum store_result store_each(struct store *s, const char *batch, bool (*each)(void *self, const struct entry *e),
                             void *self);

/* Walks the chain, recomputing every hash; *bad_seq: the first entry that does not verify (0: all do). Also checks the
 * triggers and that the projections agree with the journal. STORE_OK, or STORE_BROKEN with a sentence. */
enum store_result store_verify(struct store *s, int64_t *bad_seq, int64_t *count, char why[STORE_WHY]);
/* Drops the projections and makes them anew from the journal. */
enum store_result store_rebuild(struct store *s, char why[STORE_WHY]);

#endif
