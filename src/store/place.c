/* Where the journal lies: its folders, its real path, and the lock that keeps a second writer out. */
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "store/inside.h"

bool store_default_path(char *buf, size_t cap, bool *ours)
{
    const char *own = getenv("TARELINE_JOURNAL"), *data = getenv("XDG_DATA_HOME"), *home = getenv("HOME");
    int n = -1;
    *ours = !own || !*own;
    if (!*ours)
        n = snprintf(buf, cap, "%s", own);
    else if (data && *data == '/') /* a relative one is to be ignored: XDG Base Directory Specification 0.8 */
        n = snprintf(buf, cap, "%s/tareline/journal.db", data);
    else if (home && *home)
        n = snprintf(buf, cap, "%s/.local/share/tareline/journal.db", home);
    return n >= 0 && (size_t)n < cap;
}

static enum store_result folder_fault(const char *folder, char why[STORE_WHY])
{
    int code = errno;
    const char *name = store_short_path(folder);
    if (code == EACCES || code == EROFS || code == EPERM)
        return store_say(STORE_DENIED, why,
                         "the journal's folder %s can't be written by this user; name a file elsewhere with --journal",
                         name);
    if (code == ENOSPC || code == EDQUOT)
        return store_say(STORE_FULL, why, "no space left for the journal in %s; free some space first", name);
    return store_say(code == ENOTDIR ? STORE_DENIED : STORE_SYSTEM, why, "the journal's folder %s can't be used: %s",
                     name, strerror(code));
}

enum store_result store_make_folders(const char *path, char why[STORE_WHY])
{
    char part[STORE_PATH];
    if (!*path || strlen(path) >= sizeof part)
        return store_say(STORE_SYSTEM, why, "the journal's path is empty or longer than %d bytes", STORE_PATH - 1);
    memcpy(part, path, strlen(path) + 1);
    for (char *slash = strchr(part + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        if (mkdir(part, 0700) != 0 && errno != EEXIST)
            return folder_fault(part, why);
        *slash = '/';
    }
    return STORE_OK;
}

/* The folder of a path, and its last part. */
static const char *split(const char *path, char folder[STORE_PATH])
{
    const char *slash = strrchr(path, '/');
    if (!slash)
        snprintf(folder, STORE_PATH, ".");
    else
        snprintf(folder, STORE_PATH, "%.*s", slash == path ? 1 : (int)(slash - path), path);
    return slash ? slash + 1 : path;
}

/* The file may not exist yet; its folder does. A link to a journal is followed, so that both names share one lock. */
enum store_result store_real_path(const char *path, char out[STORE_PATH], char why[STORE_WHY])
{
    char whole[PATH_MAX + STORE_PATH], folder[STORE_PATH];
    if (!*path || strlen(path) >= sizeof folder)
        return store_say(STORE_SYSTEM, why, "the journal's path is empty or longer than %d bytes", STORE_PATH - 1);
    if (!realpath(path, whole)) {
        const char *base = split(path, folder);
        if (!realpath(folder, whole)) {
            if (errno == ENOENT)
                return store_say(STORE_NONE, why, "there is no journal at %s yet; name another file with --journal",
                                 store_short_path(path));
            return folder_fault(folder, why);
        }
        size_t len = strlen(whole);
        snprintf(whole + len, sizeof whole - len, "/%s", base);
    }
    if (strlen(whole) >= STORE_PATH)
        return store_say(STORE_SYSTEM, why, "the journal's path is longer than %d bytes", STORE_PATH - 1);
    memcpy(out, whole, strlen(whole) + 1);
    return STORE_OK;
}

/* A side file and not the journal itself: on some network file systems the two kinds of lock are one and would shut
 * SQLite out. The kernel lets go of it when the process ends, however it ends; the file stays. */
enum store_result store_lock(const char *path, int *lock, char why[STORE_WHY])
{
    char side[STORE_PATH + 8], folder[STORE_PATH], pid[16] = "";
    snprintf(side, sizeof side, "%s-lock", path);
    split(path, folder);
    int fd = open(side, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0600);
    if (fd < 0)
        return folder_fault(folder, why);
    if (flock(fd, LOCK_EX | LOCK_NB) != 0) {
        ssize_t n = read(fd, pid, sizeof pid - 1);
        close(fd);
        long who = n > 0 ? strtol(pid, NULL, 10) : 0;
        return store_say(STORE_BUSY, why, "another program (process %ld) writes the journal %s; end it first", who,
                         store_short_path(path));
    }
    /* Only for the sentence above; the lock itself is the kernel's. */
    int n = snprintf(pid, sizeof pid, "%d\n", (int)getpid());
    if (ftruncate(fd, 0) != 0 || write(fd, pid, (size_t)n) != n) {
        enum store_result r = folder_fault(folder, why);
        close(fd);
        return r;
    }
    *lock = fd;
    return STORE_OK;
}

/* The rename is durable only when the folder itself has been synced. */
enum store_result store_put_in_place(const char *from, const char *to, char why[STORE_WHY])
{
    char folder[STORE_PATH];
    split(to, folder);
    if (rename(from, to) != 0)
        return folder_fault(folder, why);
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0)
        return folder_fault(folder, why);
    int rc = fsync(fd);
    close(fd);
    return rc == 0 ? STORE_OK : folder_fault(folder, why);
}
