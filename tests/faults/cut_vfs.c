/* The disk that cut_vfs.h describes: each file has its synced bytes, the changes since, and two names, the one that is
 * seen and the one that the disk's folder has. Real files underneath carry what is seen. */
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "cut_vfs.h"

#define FILES 64
#define PIECE 512

struct change {
    struct change *next;
    int64_t at, len; /* len < 0: truncated to `at` */
    uint8_t bytes[];
};
struct disk_file {
    bool used;
    char seen[512], kept[512]; /* "" = no such name */
    uint8_t *bytes;
    int64_t size;
    struct change *first, **last;
};
struct open_file {
    sqlite3_file base;
    sqlite3_file *real;
    struct disk_file *disk; /* NULL: not modelled (temporary) */
};

static struct disk_file files[FILES];
static struct cut_plan plan;
static long operations;
static bool struck;
static char modelled[400];
static sqlite3_vfs vfs, *real_vfs;

static uint32_t below(uint32_t n)
{
    plan.seed = plan.seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (uint32_t)(plan.seed >> 33) % n;
}

static void drop_changes(struct disk_file *f)
{
    while (f->first) {
        struct change *c = f->first;
        f->first = c->next;
        free(c);
    }
    f->last = &f->first;
}

static void forget(struct disk_file *f)
{
    drop_changes(f);
    free(f->bytes);
    *f = (struct disk_file){0};
}

/* Counts an operation. SQLITE_OK: it may happen. */
static int operate(int error)
{
    operations++;
    if (!plan.at || operations < plan.at)
        return SQLITE_OK;
    if (plan.how == CUT_POWER) {
        struck = true;
        return error;
    }
    if (operations >= plan.at + plan.span)
        return SQLITE_OK;
    if (plan.how == CUT_FULL && error != SQLITE_IOERR_WRITE)
        return SQLITE_OK;
    struck = true;
    return plan.how == CUT_FULL ? SQLITE_FULL : error;
}

static bool powerless(void)
{
    return struck && plan.how == CUT_POWER;
}

static struct disk_file *find(const char *path)
{
    for (int i = 0; i < FILES; i++)
        if (files[i].used && !strcmp(files[i].seen, path))
            return &files[i];
    return NULL;
}

static void read_whole(struct disk_file *f)
{
    struct stat st;
    int fd = open(f->seen, O_RDONLY | O_CLOEXEC);
    if (fd < 0 || fstat(fd, &st) != 0)
        abort();
    f->size = st.st_size;
    f->bytes = malloc((size_t)st.st_size + 1);
    if (!f->bytes || read(fd, f->bytes, (size_t)st.st_size) != st.st_size)
        abort();
    close(fd);
}

static struct disk_file *add(const char *path, bool on_disk)
{
    for (int i = 0; i < FILES; i++) {
        struct disk_file *f = &files[i];
        if (f->used)
            continue;
        *f = (struct disk_file){.used = true};
        f->last = &f->first;
        snprintf(f->seen, sizeof f->seen, "%s", path);
        if (on_disk) {
            snprintf(f->kept, sizeof f->kept, "%s", path);
            read_whole(f);
        }
        return f;
    }
    abort();
}

static void apply(uint8_t **bytes, int64_t *size, int64_t at, const uint8_t *from, int64_t len)
{
    if (at + len > *size) {
        uint8_t *grown = realloc(*bytes, (size_t)(at + len));
        if (!grown)
            abort();
        memset(grown + *size, 0, (size_t)(at + len - *size));
        *bytes = grown;
        *size = at + len;
    }
    memcpy(*bytes + at, from, (size_t)len);
}

static void apply_change(struct disk_file *f, const struct change *c)
{
    if (c->len >= 0)
        apply(&f->bytes, &f->size, c->at, c->bytes, c->len);
    else if (c->at < f->size)
        f->size = c->at;
}

static void remember(struct disk_file *f, int64_t at, int64_t len, const void *bytes)
{
    struct change *c = malloc(sizeof *c + (len > 0 ? (size_t)len : 0));
    if (!c)
        abort();
    *c = (struct change){.at = at, .len = len};
    if (len > 0)
        memcpy(c->bytes, bytes, (size_t)len);
    *f->last = c;
    f->last = &c->next;
}

/* Another file's name on the disk gives way to this one's. */
static void keep_name(struct disk_file *f)
{
    for (int i = 0; i < FILES; i++)
        if (&files[i] != f && files[i].used && *f->seen && !strcmp(files[i].kept, f->seen))
            files[i].kept[0] = '\0';
    memcpy(f->kept, f->seen, sizeof f->kept);
}

static void sync_file(struct disk_file *f)
{
    for (const struct change *c = f->first; c; c = c->next)
        apply_change(f, c);
    drop_changes(f);
    if (!f->kept[0])
        keep_name(f);
}

static void sync_folder(void)
{
    for (int i = 0; i < FILES; i++) {
        if (!files[i].used)
            continue;
        keep_name(&files[i]);
        if (!files[i].kept[0])
            forget(&files[i]);
    }
}

static int x_close(sqlite3_file *file)
{
    struct open_file *f = (struct open_file *)file;
    return f->real->pMethods->xClose(f->real);
}

static int x_read(sqlite3_file *file, void *to, int len, sqlite3_int64 at)
{
    struct open_file *f = (struct open_file *)file;
    return powerless() ? SQLITE_IOERR_READ : f->real->pMethods->xRead(f->real, to, len, at);
}

static int x_write(sqlite3_file *file, const void *from, int len, sqlite3_int64 at)
{
    struct open_file *f = (struct open_file *)file;
    if (powerless())
        return SQLITE_IOERR_WRITE;
    int rc = f->disk ? operate(SQLITE_IOERR_WRITE) : SQLITE_OK;
    if (f->disk && (rc == SQLITE_OK || powerless())) /* the interrupted one may be on the disk */
        remember(f->disk, at, len, from);
    return rc == SQLITE_OK ? f->real->pMethods->xWrite(f->real, from, len, at) : rc;
}

static int x_truncate(sqlite3_file *file, sqlite3_int64 size)
{
    struct open_file *f = (struct open_file *)file;
    if (powerless())
        return SQLITE_IOERR_TRUNCATE;
    int rc = f->disk ? operate(SQLITE_IOERR_TRUNCATE) : SQLITE_OK;
    if (f->disk && (rc == SQLITE_OK || powerless()))
        remember(f->disk, size, -1, NULL);
    return rc == SQLITE_OK ? f->real->pMethods->xTruncate(f->real, size) : rc;
}

static int x_sync(sqlite3_file *file, int flags)
{
    struct open_file *f = (struct open_file *)file;
    (void)flags;
    if (powerless())
        return SQLITE_IOERR_FSYNC;
    int rc = f->disk ? operate(SQLITE_IOERR_FSYNC) : SQLITE_OK;
    if (rc == SQLITE_OK && f->disk && !plan.lying)
        sync_file(f->disk);
    return rc;
}

static int x_size(sqlite3_file *file, sqlite3_int64 *size)
{
    struct open_file *f = (struct open_file *)file;
    return f->real->pMethods->xFileSize(f->real, size);
}

static int x_lock(sqlite3_file *file, int level)
{
    struct open_file *f = (struct open_file *)file;
    return f->real->pMethods->xLock(f->real, level);
}

static int x_unlock(sqlite3_file *file, int level)
{
    struct open_file *f = (struct open_file *)file;
    return f->real->pMethods->xUnlock(f->real, level);
}

static int x_reserved(sqlite3_file *file, int *out)
{
    struct open_file *f = (struct open_file *)file;
    return f->real->pMethods->xCheckReservedLock(f->real, out);
}

static int x_control(sqlite3_file *file, int op, void *arg)
{
    struct open_file *f = (struct open_file *)file;
    return f->real->pMethods->xFileControl(f->real, op, arg);
}

static int x_sector(sqlite3_file *file)
{
    struct open_file *f = (struct open_file *)file;
    return f->real->pMethods->xSectorSize(f->real);
}

static int x_traits(sqlite3_file *file)
{
    struct open_file *f = (struct open_file *)file;
    return f->real->pMethods->xDeviceCharacteristics(f->real);
}

static int x_shm_map(sqlite3_file *file, int page, int size, int extend, void volatile **out)
{
    struct open_file *f = (struct open_file *)file;
    return f->real->pMethods->xShmMap(f->real, page, size, extend, out);
}

static int x_shm_lock(sqlite3_file *file, int offset, int n, int flags)
{
    struct open_file *f = (struct open_file *)file;
    return f->real->pMethods->xShmLock(f->real, offset, n, flags);
}

static void x_shm_barrier(sqlite3_file *file)
{
    struct open_file *f = (struct open_file *)file;
    f->real->pMethods->xShmBarrier(f->real);
}

static int x_shm_unmap(sqlite3_file *file, int remove)
{
    struct open_file *f = (struct open_file *)file;
    return f->real->pMethods->xShmUnmap(f->real, remove);
}

static const sqlite3_io_methods methods = {
    2,         x_close,  x_read,   x_write,   x_truncate, x_sync,        x_size,      x_lock, x_unlock, x_reserved,
    x_control, x_sector, x_traits, x_shm_map, x_shm_lock, x_shm_barrier, x_shm_unmap, NULL,   NULL};

static int x_open(sqlite3_vfs *self, const char *name, sqlite3_file *file, int flags, int *out)
{
    struct open_file *f = (struct open_file *)file;
    (void)self;
    f->base.pMethods = NULL;
    if (powerless())
        return SQLITE_CANTOPEN;
    bool inside = name && !strncmp(name, modelled, strlen(modelled));
    bool was_there = inside && access(name, F_OK) == 0;
    f->real = (sqlite3_file *)(f + 1);
    int rc = real_vfs->xOpen(real_vfs, name, f->real, flags, out);
    if (rc != SQLITE_OK)
        return rc;
    f->disk = inside ? find(name) : NULL;
    if (inside && !f->disk)
        f->disk = add(name, was_there);
    f->base.pMethods = &methods;
    return SQLITE_OK;
}

static int x_delete(sqlite3_vfs *self, const char *name, int sync)
{
    (void)self;
    if (powerless())
        return SQLITE_IOERR_DELETE;
    struct disk_file *f = find(name);
    int rc = f ? operate(SQLITE_IOERR_DELETE) : SQLITE_OK;
    if (rc != SQLITE_OK)
        return rc;
    rc = real_vfs->xDelete(real_vfs, name, 0);
    if (f && rc == SQLITE_OK) {
        f->seen[0] = '\0';
        if (sync && !plan.lying)
            sync_folder();
    }
    return rc;
}

int __real_rename(const char *from, const char *to);
int __wrap_rename(const char *from, const char *to);
int __wrap_rename(const char *from, const char *to)
{
    if (operate(SQLITE_IOERR_WRITE) != SQLITE_OK || __real_rename(from, to) != 0) {
        errno = EIO;
        return -1;
    }
    struct disk_file *f = find(from), *old = find(to);
    if (old)
        old->seen[0] = '\0';
    if (f)
        snprintf(f->seen, sizeof f->seen, "%s", to);
    return 0;
}

int __wrap_fsync(int fd);
int __wrap_fsync(int fd)
{
    struct stat st;
    if (fstat(fd, &st) != 0 || operate(SQLITE_IOERR_FSYNC) != SQLITE_OK) {
        errno = EIO;
        return -1;
    }
    if (S_ISDIR(st.st_mode) && !plan.lying)
        sync_folder();
    return 0;
}

int __real_unlink(const char *path);
int __wrap_unlink(const char *path);
int __wrap_unlink(const char *path)
{
    struct disk_file *f = find(path);
    if (f && powerless()) {
        errno = EIO;
        return -1;
    }
    if (f)
        f->seen[0] = '\0';
    return __real_unlink(path);
}

void cut_install(const char *folder)
{
    real_vfs = sqlite3_vfs_find(NULL);
    snprintf(modelled, sizeof modelled, "%s/", folder);
    vfs = *real_vfs;
    vfs.zName = "cut";
    vfs.szOsFile = (int)sizeof(struct open_file) + real_vfs->szOsFile;
    vfs.xOpen = x_open;
    vfs.xDelete = x_delete;
    if (sqlite3_vfs_register(&vfs, 1) != SQLITE_OK)
        abort();
}

void cut_begin(const struct cut_plan *next)
{
    for (int i = 0; i < FILES; i++)
        forget(&files[i]);
    plan = *next;
    operations = 0;
    struck = false;
}

long cut_count(void)
{
    return operations;
}

bool cut_struck(void)
{
    return struck;
}

/* Each piece of a change by itself: kept, lost or, now and then, garbage. */
static void apply_some(struct disk_file *f, const struct change *c, uint32_t odds)
{
    uint8_t garbage[PIECE];
    if (c->len < 0) {
        if (below(4) < odds)
            apply_change(f, c);
        return;
    }
    for (int64_t done = 0; done < c->len;) {
        int64_t len = PIECE - (c->at + done) % PIECE;
        if (len > c->len - done)
            len = c->len - done;
        for (int64_t i = 0; i < len; i++)
            garbage[i] = (uint8_t)below(256);
        if (below(4) < odds)
            apply(&f->bytes, &f->size, c->at + done, below(24) ? c->bytes + done : garbage, len);
        done += len;
    }
}

static void write_out(const struct disk_file *f, const char *path)
{
    int fd = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0644);
    if (fd < 0 || write(fd, f->bytes ? f->bytes : (const uint8_t *)"", (size_t)f->size) != f->size)
        abort();
    close(fd);
}

/* Files that nobody opened since cut_begin stand as they are. */
static void remove_seen(void)
{
    char path[800];
    DIR *dir = opendir(modelled);
    for (struct dirent *d; dir && (d = readdir(dir));) {
        snprintf(path, sizeof path, "%s%s", modelled, d->d_name);
        if (find(path) || strstr(d->d_name, "-shm"))
            __real_unlink(path);
    }
    closedir(dir);
}

static const char *name_after(const struct disk_file *f)
{
    if (plan.keep == KEEP_ALL)
        return f->seen;
    return plan.keep == KEEP_SOME && below(2) ? f->seen : f->kept;
}

void cut_restore(void)
{
    uint32_t odds = 1 + below(3);
    remove_seen();
    for (int i = 0; i < FILES; i++) {
        struct disk_file *f = &files[i];
        for (const struct change *c = f->first; c && plan.keep != KEEP_NONE; c = c->next) {
            if (plan.keep == KEEP_SOME)
                apply_some(f, c, odds);
            else
                apply_change(f, c);
        }
    }
    /* a name that two files have: the one that is seen there was made last */
    for (int pass = 0; pass < 2; pass++)
        for (int i = 0; i < FILES; i++) {
            struct disk_file *f = &files[i];
            const char *name = f->used ? name_after(f) : "";
            bool newest = *name && !strcmp(name, f->seen);
            if (*name && newest == (pass == 1))
                write_out(f, name);
        }
    struct cut_plan none = {0};
    cut_begin(&none);
}
