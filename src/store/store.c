/* Opening and closing a journal, and its sentences when that can't be done. */
#include <errno.h>
#include <sodium.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "store/inside.h"

#define SHORT_PATH 90
#define BUSY_MS 2000 /* a reader's recovery or check-point in another process takes milliseconds */

static const char *const statements[] = {
#define X(name, sql) [SQL_##name] = (sql),
    STORE_STATEMENTS(X)
#undef X
};

enum store_result store_say(enum store_result result, char why[STORE_WHY], const char *format, ...)
{
    if (why) {
        va_list args;
        va_start(args, format);
        vsnprintf(why, STORE_WHY, format, args);
        va_end(args);
    }
    return result;
}

const char *store_short_path(const char *path)
{
    size_t len = strlen(path);
    if (len <= SHORT_PATH)
        return path;
    const char *end = path + len - SHORT_PATH;
    const char *slash = strchr(end, '/');
    return slash ? slash + 1 : end;
}

/* A quota and a limit on the file's size want the same of the operator as a full disk: room. */
static bool means_full(int system_error)
{
    return system_error == ENOSPC || system_error == EDQUOT || system_error == EFBIG;
}

/* SQLite tells ENOSPC apart by itself, but not a quota or a limit on a file's size. A failed commit's errno is kept only
 * by the file of the log. */
static bool no_space(sqlite3 *db)
{
    sqlite3_file *log = NULL;
    int code = 0;
    if (means_full(sqlite3_system_errno(db)))
        return true;
    return sqlite3_file_control(db, "main", SQLITE_FCNTL_JOURNAL_POINTER, (void *)&log) == SQLITE_OK && log &&
           log->pMethods && log->pMethods->xFileControl(log, SQLITE_FCNTL_LAST_ERRNO, &code) == SQLITE_OK &&
           means_full(code);
}

enum store_result store_fault(struct store *s, int rc, char why[STORE_WHY])
{
    const char *name = store_short_path(s->path);
    int primary = rc & 0xff;
    if (primary == SQLITE_FULL || (primary == SQLITE_IOERR && no_space(s->db)))
        return store_say(STORE_FULL, why, "no space left for the journal %s: nothing was stored; free some space",
                         name);
    switch (primary) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return store_say(STORE_BUSY, why, "another program holds the journal %s; end it and try again", name);
    case SQLITE_PERM:
    case SQLITE_AUTH:
    case SQLITE_READONLY:
    case SQLITE_CANTOPEN:
        return store_say(STORE_DENIED, why, "the journal %s or its folder can't be written by this user", name);
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        return store_say(STORE_BROKEN, why, "the journal %s is damaged; keep it as it is and go on in a new one", name);
    case SQLITE_CONSTRAINT:
        return store_say(STORE_SYSTEM, why, "the journal %s refused the entry: %s", name, sqlite3_errmsg(s->db));
    default:
        return store_say(STORE_SYSTEM, why, "the journal %s can't be used: %s", name,
                         s->db ? sqlite3_errmsg(s->db) : sqlite3_errstr(rc));
    }
}

sqlite3_stmt *store_sql(struct store *s, enum statement which, int *rc)
{
    *rc = SQLITE_OK;
    if (!s->sql[which]) {
        *rc = sqlite3_prepare_v3(s->db, statements[which], -1, SQLITE_PREPARE_PERSISTENT, &s->sql[which], NULL);
        if (*rc == SQLITE_ERROR) /* a table that isn't there */
            *rc = SQLITE_CORRUPT;
    }
    return s->sql[which];
}

/* DEFENSIVE: no SQL can write to the schema or the file behind the triggers. synchronous=FULL: in write-ahead mode a commit
 * returns only when its pages are on the disk (NORMAL may lose the newest commits at a power cut). The cache (512 KiB) and
 * the log (256 pages, then it is copied into the file) are bounded for small machines.
 * A setting that can't be made is not told here: what hinders it hinders the first reading too, which says so. */
static void settings(struct store *s)
{
    sqlite3_extended_result_codes(s->db, 1);
    sqlite3_busy_timeout(s->db, BUSY_MS);
    sqlite3_db_config(s->db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    sqlite3_exec(s->db, "PRAGMA cache_size=-512; PRAGMA synchronous=FULL; PRAGMA wal_autocheckpoint=256", NULL, NULL,
                 NULL);
}

/* What would spoil the next entry is found at opening and not with meat on the scale. The whole chain is not walked:
 * that is store_verify's work, and takes longer the older the journal is. */
static enum store_result check_before_writing(struct store *s, char why[STORE_WHY])
{
    const char *piece, *name = store_short_path(s->path);
    bool sound;
    int rc = store_read_head(s, &sound);
    if (rc != SQLITE_OK)
        return store_fault(s, rc, why);
    if (!sound)
        return store_say(STORE_BROKEN, why, "entry %lld of the journal %s does not verify; run tareline records verify",
                         (long long)s->head.seq, name);
    if (!store_guards_whole(s->db, &piece))
        return store_say(STORE_BROKEN, why,
                         "the journal %s has lost its guards (%s); run tareline records verify, then records rebuild",
                         name, piece);
    store_sql(s, SQL_INSERT, &rc);
    return rc == SQLITE_OK ? STORE_OK : store_fault(s, rc, why);
}

/* The lock comes first: what stands at the path is only certain once nobody else can make or repair it. */
static enum store_result open_writer(struct store *s, enum store_mode mode, char why[STORE_WHY])
{
    enum store_result r = store_lock(s->path, &s->lock, why);
    if (r == STORE_OK)
        r = store_look(s->path, why); /* again: another writer may have made it meanwhile */
    if (r == STORE_NONE && mode == STORE_WRITE)
        r = store_create(s->path, why);
    if (r != STORE_OK)
        return r;
    int rc = sqlite3_open_v2(s->path, &s->db, SQLITE_OPEN_READWRITE, NULL);
    /* SQLite opens a file that it may not write for reading, and would only say so at the first entry. */
    if (rc == SQLITE_OK && sqlite3_db_readonly(s->db, "main") == 1)
        rc = SQLITE_READONLY;
    if (rc != SQLITE_OK)
        return store_fault(s, rc, why);
    settings(s);
    if (mode == STORE_REPAIR && (r = store_rebuild(s, why)) != STORE_OK)
        return r;
    return check_before_writing(s, why);
}

/* A path as a file: URI that says the file can't change, for a folder in which SQLite can't keep its side files. */
static void immutable_uri(const char *path, char *out, size_t cap)
{
    size_t len = (size_t)snprintf(out, cap, "file:");
    for (const unsigned char *p = (const unsigned char *)path; *p && len + 4 < cap; p++) {
        bool plain = *p > ' ' && *p < 127 && !strchr("?#%", *p);
        len += (size_t)snprintf(out + len, cap - len, plain ? "%c" : "%%%02X", *p);
    }
    snprintf(out + len, cap - len, "?immutable=1");
}

static enum store_result open_immutable(struct store *s, char why[STORE_WHY])
{
    char name[3 * STORE_PATH + 32];
    struct stat st;
    bool sound;
    snprintf(name, sizeof name, "%s-wal", s->path);
    if (stat(name, &st) == 0 && st.st_size > 0) /* reading past it would hide the newest entries */
        return store_say(
            STORE_DENIED, why,
            "the newest entries of %s are still in its -wal file; copy both to a folder that can be written",
            store_short_path(s->path));
    store_finalize(s);
    immutable_uri(s->path, name, sizeof name);
    int rc = sqlite3_open_v2(name, &s->db, SQLITE_OPEN_READONLY | SQLITE_OPEN_URI, NULL);
    if (rc == SQLITE_OK) {
        settings(s);
        rc = store_read_head(s, &sound);
    }
    return rc == SQLITE_OK ? STORE_OK : store_fault(s, rc, why);
}

/* A reader of a journal in write-ahead mode writes too: its place in the log, in the -shm file. Where it may not, the
 * file can still be read as one that nobody changes. */
static enum store_result open_reader(struct store *s, char why[STORE_WHY])
{
    bool sound; /* not asked of a reader: store_verify says more */
    int rc = sqlite3_open_v2(s->path, &s->db, SQLITE_OPEN_READONLY, NULL);
    if (rc == SQLITE_OK) {
        settings(s);
        rc = store_read_head(s, &sound);
    }
    if ((rc & 0xff) == SQLITE_CANTOPEN || (rc & 0xff) == SQLITE_READONLY)
        return open_immutable(s, why);
    return rc == SQLITE_OK ? STORE_OK : store_fault(s, rc, why);
}

enum store_result store_open(struct store **out, const char *path, enum store_mode mode, char why[STORE_WHY])
{
    *out = NULL;
    if (sodium_init() < 0)
        return store_say(STORE_SYSTEM, why, "the library that hashes entries can't start");
    struct store *s = calloc(1, sizeof *s);
    if (!s)
        return store_say(STORE_SYSTEM, why, "no memory for the journal");
    s->lock = -1;
    enum store_result r = store_real_path(path, s->path, why);
    if (r == STORE_NONE && mode == STORE_WRITE)
        r = store_say(
            STORE_DENIED, why,
            "the folder of the journal %s is not there; make it (or is its disk not mounted?), or name another "
            "file with --journal",
            store_short_path(path));
    if (r == STORE_OK)
        r = store_look(s->path, why);
    if (mode == STORE_READ)
        r = r == STORE_OK ? open_reader(s, why) : r;
    else if (r == STORE_OK || (r == STORE_NONE && mode == STORE_WRITE && *s->path))
        r = open_writer(s, mode, why);
    if (r == STORE_OK)
        *out = s;
    else
        store_close(s);
    return r;
}

void store_finalize(struct store *s)
{
    for (int i = 0; i < SQL_COUNT; i++) {
        sqlite3_finalize(s->sql[i]);
        s->sql[i] = NULL;
    }
    sqlite3_close(s->db);
    s->db = NULL;
}

/* The lock goes last: closing writes what the log still holds into the file. */
void store_close(struct store *s)
{
    if (!s)
        return;
    store_finalize(s);
    if (s->lock >= 0)
        close(s->lock);
    free(s);
}
