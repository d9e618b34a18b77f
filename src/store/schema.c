/* The tables: the journal, which only grows, and the projections, which are made from it. docs/journal.md quotes them. */
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "store/inside.h"

struct piece {
    const char *type, *name, *sql;
};

/* Compared with what stands in the file byte for byte, so even a blank changed here would make every older journal one that
 * has lost its guards.
 * No UNIQUE column beside seq: INSERT OR REPLACE removes the row that stands in its way without asking the triggers. */
static const struct piece guards[] = {
    {"table", "journal",
     "CREATE TABLE journal(seq INTEGER PRIMARY KEY, utc_us INTEGER NOT NULL, mono_us INTEGER NOT NULL,"
     " kind TEXT NOT NULL CHECK(kind<>''), batch TEXT NOT NULL, person TEXT NOT NULL,"
     " payload TEXT NOT NULL CHECK(json_valid(payload) AND json_type(payload)='object'),"
     " prev BLOB NOT NULL CHECK(length(prev)=32), hash BLOB NOT NULL CHECK(length(hash)=32)) STRICT"},
    {"index", "journal_batch", "CREATE INDEX journal_batch ON journal(batch)"},
    {"trigger", "journal_no_update",
     "CREATE TRIGGER journal_no_update BEFORE UPDATE ON journal BEGIN"
     " SELECT raise(ABORT,'the journal only grows: an entry is never changed'); END"},
    {"trigger", "journal_no_delete",
     "CREATE TRIGGER journal_no_delete BEFORE DELETE ON journal BEGIN"
     " SELECT raise(ABORT,'the journal only grows: an entry is never removed'); END"},
    {"trigger", "journal_next_only",
     "CREATE TRIGGER journal_next_only BEFORE INSERT ON journal"
     " WHEN NEW.seq IS NOT (SELECT coalesce(max(seq),0)+1 FROM journal)"
     " OR NEW.prev IS NOT coalesce((SELECT hash FROM journal ORDER BY seq DESC LIMIT 1),zeroblob(32)) BEGIN"
     " SELECT raise(ABORT,'the journal only grows: an entry follows the newest one'); END"},
    {"trigger", "journal_project",
     "CREATE TRIGGER journal_project AFTER INSERT ON journal BEGIN"
     " INSERT INTO batches SELECT NEW.batch,NEW.seq,NEW.seq,'running' WHERE NEW.kind='started'"
     " ON CONFLICT(batch) DO NOTHING;"
     " UPDATE batches SET last_seq=NEW.seq, state=CASE WHEN NEW.kind='state'"
     " THEN coalesce(json_extract(NEW.payload,'$.state'),state) ELSE state END WHERE batch=NEW.batch;"
     " INSERT INTO texts SELECT json_extract(NEW.payload,'$.hash'),NEW.seq WHERE NEW.kind='text'"
     " ON CONFLICT(hash) DO NOTHING; END"},
};
#define GUARDS (sizeof guards / sizeof guards[0])

/* A projection: its table, and the rows that it must have, as a query over the journal. */
struct projection {
    const char *name, *sql, *rows;
};
static const struct projection projections[] = {
    {"batches",
     "CREATE TABLE batches(batch TEXT PRIMARY KEY, first_seq INTEGER NOT NULL, last_seq INTEGER NOT NULL,"
     " state TEXT NOT NULL) STRICT",
     "SELECT b.batch, b.first, (SELECT max(seq) FROM journal WHERE batch=b.batch),"
     " coalesce((SELECT json_extract(payload,'$.state') FROM journal WHERE batch=b.batch AND seq>b.first AND "
     "kind='state'"
     " AND json_extract(payload,'$.state') IS NOT NULL ORDER BY seq DESC LIMIT 1),'running')"
     " FROM (SELECT batch, min(seq) AS first FROM journal WHERE kind='started' GROUP BY batch) b"},
    {"texts", "CREATE TABLE texts(hash TEXT PRIMARY KEY, seq INTEGER NOT NULL) STRICT",
     "SELECT json_extract(payload,'$.hash'), min(seq) FROM journal WHERE kind='text' GROUP BY 1"},
};
#define PROJECTIONS (sizeof projections / sizeof projections[0])

static int run(sqlite3 *db, const char *sql)
{
    return sqlite3_exec(db, sql, NULL, NULL, NULL);
}

/* All in one transaction, but for the mode, which can't be changed inside one. Closing the last connection empties the log
 * into the file and removes it, so the one file that store_create renames is the whole journal. */
static int make_all(sqlite3 *db)
{
    char ids[96];
    snprintf(ids, sizeof ids, "PRAGMA application_id=%d; PRAGMA user_version=%d;", STORE_APPLICATION_ID, STORE_VERSION);
    int rc = run(db, "PRAGMA synchronous=FULL; BEGIN IMMEDIATE");
    if (rc == SQLITE_OK)
        rc = run(db, ids);
    for (size_t i = 0; rc == SQLITE_OK && i < PROJECTIONS; i++)
        rc = run(db, projections[i].sql);
    for (size_t i = 0; rc == SQLITE_OK && i < GUARDS; i++)
        rc = run(db, guards[i].sql);
    return rc == SQLITE_OK ? run(db, "COMMIT; PRAGMA journal_mode=WAL") : rc;
}

/* What an interrupted creation left is of no use to anybody. */
static void clear_away(const char *path)
{
    static const char *const tails[] = {"", "-journal", "-wal", "-shm"};
    char name[STORE_PATH + 16];
    for (size_t i = 0; i < sizeof tails / sizeof tails[0]; i++) {
        snprintf(name, sizeof name, "%s%s", path, tails[i]);
        unlink(name);
    }
}

/* s is only there for store_fault: its path is the one that the operator knows. */
enum store_result store_create(const char *path, char why[STORE_WHY])
{
    char fresh[STORE_PATH + 8];
    struct store s = {.lock = -1};
    snprintf(fresh, sizeof fresh, "%s-new", path);
    clear_away(fresh);
    snprintf(s.path, sizeof s.path, "%s", path);
    int rc = sqlite3_open_v2(fresh, &s.db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL);
    if (rc == SQLITE_OK)
        rc = make_all(s.db);
    enum store_result r = rc == SQLITE_OK ? STORE_OK : store_fault(&s, rc, why);
    sqlite3_close(s.db);
    if (r == STORE_OK)
        r = store_put_in_place(fresh, path, why);
    if (r != STORE_OK)
        clear_away(fresh);
    return r;
}

/* SQLite keeps the text of a CREATE as it was typed. */
static bool stands(sqlite3 *db, const struct piece *p)
{
    sqlite3_stmt *q = NULL;
    bool found = false;
    if (sqlite3_prepare_v2(db, "SELECT sql FROM sqlite_schema WHERE type=?1 AND name=?2", -1, &q, NULL) == SQLITE_OK) {
        sqlite3_bind_text(q, 1, p->type, -1, SQLITE_STATIC);
        sqlite3_bind_text(q, 2, p->name, -1, SQLITE_STATIC);
        if (sqlite3_step(q) == SQLITE_ROW) {
            const char *sql = (const char *)sqlite3_column_text(q, 0);
            found = sql && !strcmp(sql, p->sql);
        }
    }
    sqlite3_finalize(q);
    return found;
}

/* Another trigger or index on the journal is as bad as a missing one: it could undo what ours do. */
static bool nothing_else(sqlite3 *db)
{
    sqlite3_stmt *q = NULL;
    bool alone = false;
    if (sqlite3_prepare_v2(db,
                           "SELECT count(*) FROM sqlite_schema WHERE type='trigger'"
                           " OR (tbl_name='journal' AND sql IS NOT NULL)",
                           -1, &q, NULL) == SQLITE_OK &&
        sqlite3_step(q) == SQLITE_ROW)
        alone = sqlite3_column_int64(q, 0) == (sqlite3_int64)GUARDS;
    sqlite3_finalize(q);
    return alone;
}

bool store_guards_whole(sqlite3 *db, const char **name)
{
    for (size_t i = 0; i < GUARDS; i++)
        if (!stands(db, &guards[i])) {
            *name = guards[i].name;
            return false;
        }
    *name = "another trigger or index";
    return nothing_else(db);
}

/* The journal table is never touched: a changed one can't be mended. */
int store_remake(sqlite3 *db)
{
    char sql[1024];
    int rc = SQLITE_OK;
    for (size_t i = 1; rc == SQLITE_OK && i < GUARDS; i++) {
        if (stands(db, &guards[i]))
            continue;
        snprintf(sql, sizeof sql, "DROP %s IF EXISTS %s", guards[i].type, guards[i].name);
        rc = run(db, sql);
        if (rc == SQLITE_OK)
            rc = run(db, guards[i].sql);
    }
    for (size_t i = 0; rc == SQLITE_OK && i < PROJECTIONS; i++) {
        const struct projection *p = &projections[i];
        snprintf(sql, sizeof sql, "DROP TABLE IF EXISTS %s; %s; INSERT INTO %s %s", p->name, p->sql, p->name, p->rows);
        rc = run(db, sql);
    }
    return rc;
}

/* Rows that only one side has, both ways round; both sides have a key, so no row can be there twice. */
bool store_projections_agree(sqlite3 *db, const char **name)
{
    char sql[2048];
    for (size_t i = 0; i < PROJECTIONS; i++) {
        const struct projection *p = &projections[i];
        sqlite3_stmt *q = NULL;
        snprintf(sql, sizeof sql,
                 "SELECT count(*) FROM (SELECT * FROM (SELECT * FROM %s EXCEPT %s)"
                 " UNION ALL SELECT * FROM (%s EXCEPT SELECT * FROM %s))",
                 p->name, p->rows, p->rows, p->name);
        bool same = sqlite3_prepare_v2(db, sql, -1, &q, NULL) == SQLITE_OK && sqlite3_step(q) == SQLITE_ROW &&
                    sqlite3_column_int64(q, 0) == 0;
        sqlite3_finalize(q);
        *name = p->name;
        if (!same)
            return false;
    }
    return true;
}
