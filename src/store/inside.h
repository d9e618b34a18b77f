/* Inside the store: what its own files share. Nothing outside src/store includes this. */
#ifndef STORE_INSIDE_H
#define STORE_INSIDE_H

#include <sqlite3.h>

#include "store/store.h"

#define STORE_APPLICATION_ID 0x5461726c /* "Tarl" */
#define STORE_VERSION 1
#define STORE_PATH 1024

/* Every statement that runs more than once: prepared at its first use and kept. So none may be run again while its rows
 * are being stepped through; what hands rows to a callback that may read the journal too prepares its own (query.c).
 *
 * RECENT_LOTS looks back over so many entries and no further, because a person waits for it, however old the journal is.
 * FIELDS gives a fraction in thousandths as well, which is all that a check's value has. */
#define STORE_STATEMENTS(X)                                                                                            \
    X(INSERT, "INSERT INTO journal VALUES(?1,?2,?3,?4,?5,?6,?7,?8,?9)")                                                \
    X(HEAD, "SELECT seq,utc_us,mono_us,kind,batch,person,payload,prev,hash FROM journal ORDER BY seq DESC LIMIT 1")    \
    X(TEXT_KEPT, "SELECT 1 FROM texts WHERE hash=?1")                                                                  \
    X(TEXT, "SELECT json_extract(j.payload,'$.text') FROM texts t JOIN journal j ON j.seq=t.seq WHERE t.hash=?1")      \
    X(TEXT_JSON, "SELECT json_object('name',?1,'hash',?2,'text',?3)")                                                  \
    X(TEXT_CHECK, "SELECT json_extract(?1,'$.text'),json_extract(?1,'$.hash')")                                        \
    X(BATCH_OPEN, "SELECT batch FROM batches WHERE state NOT IN ('complete','stopped','aborted')"                      \
                  " ORDER BY first_seq DESC LIMIT 1")                                                                  \
    X(BATCH_CLOSED, "SELECT batch,state FROM batches WHERE state IN ('complete','stopped','aborted')"                  \
                    " ORDER BY first_seq DESC LIMIT 1")                                                                \
    X(RECENT_LOTS, "SELECT json_extract(payload,'$.lot') AS lot FROM journal WHERE kind='lot'"                         \
                   " AND seq>(SELECT max(seq) FROM journal)-4000 AND json_extract(payload,'$.ingredient')=?1"          \
                   " GROUP BY lot ORDER BY max(seq) DESC LIMIT ?2")                                                    \
    X(FIELDS, "SELECT key,type,value,CAST(round(value*1000) AS INTEGER) FROM json_each(?1)")

enum statement {
#define X(name, sql) SQL_##name,
    STORE_STATEMENTS(X)
#undef X
        SQL_COUNT
};

struct store {
    sqlite3 *db;
    int lock; /* descriptor of the side file that a writer locks; -1 for a reader */
    struct store_head head;
    sqlite3_stmt *sql[SQL_COUNT];
    char path[STORE_PATH];
};

/* One sentence into why (NULL: nobody wants it). Returns result, so that a caller can `return store_say(...)`. */
enum store_result store_say(enum store_result result, char why[STORE_WHY], const char *format, ...)
    __attribute__((format(printf, 3, 4)));
/* The end of a path, short enough for a sentence. */
const char *store_short_path(const char *path);
/* SQLite's newest error on this journal as a result and a sentence that says what to do. */
enum store_result store_fault(struct store *s, int rc, char why[STORE_WHY]);

/* The statement, prepared; NULL with *rc set if that can't be done. */
sqlite3_stmt *store_sql(struct store *s, enum statement which, int *rc);
/* Ends the statements and SQLite's connection. */
void store_finalize(struct store *s);
/* Sets s->head from the newest entry; *sound: its own hash is right. Returns SQLite's code. */
int store_read_head(struct store *s, bool *sound);

/* header.c: the file's first 100 bytes, before SQLite opens it. STORE_NONE: no file, or an empty one. */
enum store_result store_look(const char *path, char why[STORE_WHY]);

/* place.c: the real path (links followed), the writer's lock. */
enum store_result store_real_path(const char *path, char out[STORE_PATH], char why[STORE_WHY]);
enum store_result store_lock(const char *path, int *lock, char why[STORE_WHY]);
/* Renames a whole new file into its place, durably. */
enum store_result store_put_in_place(const char *from, const char *to, char why[STORE_WHY]);

/* schema.c */
/* Makes an empty journal at path: under another name first, so that path is either absent or whole. */
enum store_result store_create(const char *path, char why[STORE_WHY]);
/* True if the journal table, its index and its triggers are as they were made; else *name is the one that is not. */
bool store_guards_whole(sqlite3 *db, const char **name);
/* Puts missing or changed triggers back; makes the projections' tables anew and fills them. Inside a transaction. */
int store_remake(sqlite3 *db);
/* True if every projection says what the journal says; else *name is the table that does not. */
bool store_projections_agree(sqlite3 *db, const char **name);

/* An entry out of a row with the columns of SQL_HEAD; its strings live until the statement moves. False: not an entry. */
bool store_row(sqlite3_stmt *row, struct entry *e);

#endif
