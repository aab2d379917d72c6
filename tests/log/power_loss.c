/* Records, in order, what a process does to the files of one folder: loaded by LD_PRELOAD.
 *
 * POWER_FOLDER names the folder (its real path) and POWER_LOG the file to append to, which lies elsewhere. A record
 * is a header (struct below, little-endian) followed by `first` bytes and `second` bytes. It is written after the
 * call has returned, only if it succeeded.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <sys/uio.h>
#include <unistd.h>

#define FILES 1024

struct __attribute__((packed)) header {
    char what; /* o open, w write, t truncate, u unlink, r rename, s sync, c close */
    int32_t file;
    int32_t flags;
    int64_t offset;
    uint32_t first, second;
};

static char watched[FILES];
static int log_file = -1;

static const char *inside(const char *path) {
    const char *folder = getenv("POWER_FOLDER");
    size_t length = folder ? strlen(folder) : 0;
    if (!length || !path || strncmp(path, folder, length)) return NULL;
    if (path[length] == 0) return ".";
    return path[length] == '/' ? path + length + 1 : NULL;
}

static void record(char what, int file, int flags, int64_t offset, const void *a, size_t na, const void *b, size_t nb) {
    int kept = errno;
    if (log_file < 0) log_file = syscall(SYS_openat, AT_FDCWD, getenv("POWER_LOG"), O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
    struct header head = {what, file, flags, offset, (uint32_t)na, (uint32_t)nb};
    struct iovec parts[3] = {{&head, sizeof head}, {(void *)a, na}, {(void *)b, nb}};
    if (syscall(SYS_writev, log_file, parts, 3) != (long)(sizeof head + na + nb)) abort();
    errno = kept;
}

static int is_watched(int file) { return file >= 0 && file < FILES && watched[file]; }

static int opened(int file, const char *path, int flags) {
    const char *name = inside(path);
    if (file >= 0 && file < FILES) {
        watched[file] = name != NULL;
        if (name) record('o', file, ((flags & O_CREAT) ? 1 : 0) | ((flags & O_TRUNC) ? 2 : 0), 0, name, strlen(name), "", 0);
    }
    return file;
}

#define REAL(type, name, ...) \
    static type (*real)(__VA_ARGS__); \
    if (!real) real = (type (*)(__VA_ARGS__))dlsym(RTLD_NEXT, name)
#define MODE(flags) \
    mode_t mode = 0; \
    if (flags & (O_CREAT | O_TMPFILE)) { va_list list; va_start(list, flags); mode = va_arg(list, mode_t); va_end(list); }

int open(const char *path, int flags, ...) { MODE(flags) REAL(int, "open", const char *, int, ...); return opened(real(path, flags, mode), path, flags); }
int open64(const char *path, int flags, ...) { MODE(flags) REAL(int, "open64", const char *, int, ...); return opened(real(path, flags, mode), path, flags); }
int openat(int at, const char *path, int flags, ...) { MODE(flags) REAL(int, "openat", int, const char *, int, ...); return opened(real(at, path, flags, mode), path, flags); }
int openat64(int at, const char *path, int flags, ...) { MODE(flags) REAL(int, "openat64", int, const char *, int, ...); return opened(real(at, path, flags, mode), path, flags); }

static ssize_t written(int file, const void *from, ssize_t count, int64_t offset) {
    if (count > 0 && is_watched(file)) record('w', file, 0, offset, from, count, "", 0);
    return count;
}
ssize_t pwrite(int file, const void *from, size_t count, off_t offset) { REAL(ssize_t, "pwrite", int, const void *, size_t, off_t); return written(file, from, real(file, from, count, offset), offset); }
ssize_t pwrite64(int file, const void *from, size_t count, off64_t offset) { REAL(ssize_t, "pwrite64", int, const void *, size_t, off64_t); return written(file, from, real(file, from, count, offset), offset); }
ssize_t write(int file, const void *from, size_t count) {
    REAL(ssize_t, "write", int, const void *, size_t);
    int64_t offset = is_watched(file) ? lseek(file, 0, SEEK_CUR) : 0;
    return written(file, from, real(file, from, count), offset);
}

static int truncated(int result, int file, int64_t length) {
    if (!result && is_watched(file)) record('t', file, 0, length, "", 0, "", 0);
    return result;
}
int ftruncate(int file, off_t length) { REAL(int, "ftruncate", int, off_t); return truncated(real(file, length), file, length); }
int ftruncate64(int file, off64_t length) { REAL(int, "ftruncate64", int, off64_t); return truncated(real(file, length), file, length); }

static int synced(int result, int file) {
    if (!result && is_watched(file)) record('s', file, 0, 0, "", 0, "", 0);
    return result;
}
int fsync(int file) { REAL(int, "fsync", int); return synced(real(file), file); }
int fdatasync(int file) { REAL(int, "fdatasync", int); return synced(real(file), file); }

int unlink(const char *path) {
    REAL(int, "unlink", const char *);
    int result = real(path);
    const char *name = inside(path);
    if (!result && name) record('u', -1, 0, 0, name, strlen(name), "", 0);
    return result;
}
int rename(const char *from, const char *to) {
    REAL(int, "rename", const char *, const char *);
    int result = real(from, to);
    const char *a = inside(from), *b = inside(to);
    if (!result && a && b) record('r', -1, 0, 0, a, strlen(a), b, strlen(b));
    return result;
}
int close(int file) {
    REAL(int, "close", int);
    if (is_watched(file)) { record('c', file, 0, 0, "", 0, "", 0); watched[file] = 0; }
    return real(file);
}
