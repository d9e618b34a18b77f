/* Is it one of our journals? Told from the file's first 100 bytes, so that a foreign file is never locked, recovered or
 * changed. Layout: SQLite's published file format, section 1.3 (magic at 0, user version at 60, application id at 68).
 *
 * The bytes are read through SQLite's file layer, not open(2): closing a descriptor of our own would drop the locks that
 * this process holds on the file through another connection (POSIX advisory locks belong to the process). */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "store/inside.h"

/* Bytes: of the file's header, of the log's, and of what stands before each page in the log. */
#define HEADER 100
#define LOG_HEADER 32
#define FRAME_HEADER 24

static const char magic[16] = "SQLite format 3";

static uint32_t big_endian(const uint8_t *p)
{
    return (uint32_t)p[0] << 24 | (uint32_t)p[1] << 16 | (uint32_t)p[2] << 8 | p[3];
}

static int read_header(const char *path, uint8_t out[HEADER])
{
    sqlite3_vfs *vfs = sqlite3_vfs_find(NULL);
    sqlite3_filename name = sqlite3_create_filename(path, "", "", 0, NULL);
    sqlite3_file *file = name ? calloc(1, (size_t)vfs->szOsFile) : NULL;
    int rc = SQLITE_NOMEM;
    if (file) {
        rc = vfs->xOpen(vfs, name, file, SQLITE_OPEN_MAIN_DB | SQLITE_OPEN_READONLY, NULL);
        if (rc == SQLITE_OK)
            rc = file->pMethods->xRead(file, out, HEADER, 0);
        if (file->pMethods)
            file->pMethods->xClose(file);
    }
    free(file);
    sqlite3_free_filename(name);
    return rc;
}

/* A cut while the log was being copied into the file may have torn the first sector; SQLite mends it from the log. So what
 * the file is can then be told from a first page in the log (file format, sections 4.1 and 4.2). */
static bool read_log(const char *path, uint8_t out[HEADER])
{
    char name[STORE_PATH + 8];
    uint8_t head[LOG_HEADER], frame[FRAME_HEADER + HEADER];
    snprintf(name, sizeof name, "%s-wal", path);
    FILE *log = fopen(name, "rbe");
    bool found = false;
    if (log && fread(head, sizeof head, 1, log) == 1 && big_endian(head) >> 1 == 0x377f0682 >> 1) {
        long page = (long)big_endian(head + 8);
        while (!found && page >= 512 && page <= 65536 && fread(frame, sizeof frame, 1, log) == 1) {
            found = big_endian(frame) == 1 && !memcmp(frame + FRAME_HEADER, magic, sizeof magic);
            if (fseek(log, page - HEADER, SEEK_CUR) != 0)
                break;
        }
        if (found)
            memcpy(out, frame + FRAME_HEADER, HEADER);
    }
    if (log)
        fclose(log);
    return found;
}

static enum store_result judge(const char *path, const uint8_t header[HEADER], char why[STORE_WHY])
{
    uint32_t version = big_endian(header + 60);
    const char *name = store_short_path(path);
    if (memcmp(header, magic, sizeof magic) != 0)
        return store_say(STORE_FOREIGN, why, "%s is not a journal; name another file with --journal", name);
    if (big_endian(header + 68) != STORE_APPLICATION_ID)
        return store_say(STORE_FOREIGN, why, "%s is a database of another program; name another file with --journal",
                         name);
    if (version > STORE_VERSION)
        return store_say(STORE_FOREIGN, why,
                         "%s is a journal of version %u, this program reads up to %d; use the newer program", name,
                         (unsigned)version, STORE_VERSION);
    if (version != STORE_VERSION)
        return store_say(STORE_FOREIGN, why, "%s carries no journal version; name another file with --journal", name);
    return STORE_OK;
}

enum store_result store_look(const char *path, char why[STORE_WHY])
{
    struct stat st;
    const char *name = store_short_path(path);
    if (stat(path, &st) != 0) {
        if (errno == ENOENT || errno == ENOTDIR)
            return store_say(STORE_NONE, why, "there is no journal at %s yet; name another file with --journal", name);
        return store_say(STORE_DENIED, why, "%s can't be reached: %s", name, strerror(errno));
    }
    if (!S_ISREG(st.st_mode))
        return store_say(STORE_FOREIGN, why, "%s is not a file; name a file with --journal", name);
    if (st.st_size == 0)
        return store_say(STORE_NONE, why, "the journal %s is empty; name another file with --journal", name);
    uint8_t header[HEADER] = {0};
    int rc = read_header(path, header);
    if (rc == SQLITE_CANTOPEN || rc == SQLITE_PERM)
        return store_say(STORE_DENIED, why, "%s can't be read by this user", name);
    if (rc != SQLITE_OK && rc != SQLITE_IOERR_SHORT_READ)
        return store_say(STORE_SYSTEM, why, "%s can't be read: %s", name, sqlite3_errstr(rc));
    if (memcmp(header, magic, sizeof magic) != 0)
        (void)read_log(path, header);
    return judge(path, header, why);
}
