/* Counts the calls by which a process changes files below one folder, and makes one of them fail.
 *
 * Preloaded (LD_PRELOAD) it stands before the C library's own functions, so that Python's calls and those of libraries
 * written in C++ or Rust all come through here. What to do stands in a file that is mapped into memory and shared with
 * the process that asks (tests/faults/preload.py has the same layout): workers count and fail together.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <execinfo.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/sendfile.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <unistd.h>

enum { NONE, ERROR, FULL, SHORT, KILL };
enum { MOST = 20000, FRAMES = 7 };

struct met {
    char call[16];
    uint64_t site; /* hash of the innermost return addresses */
    char path[232];
};

struct shared {
    int32_t armed, count, at, way, hit, full;
    char folder[1000];
    struct met met[MOST];
};

static struct shared *shared;

__attribute__((constructor)) static void map_shared(void) {
    const char *name = getenv("FAULTS_SHARED");
    if (!name) return;
    int fd = syscall(SYS_openat, AT_FDCWD, name, O_RDWR | O_CLOEXEC);
    if (fd < 0) return;
    void *found = mmap(NULL, sizeof(struct shared), PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0);
    syscall(SYS_close, fd);
    if (found != MAP_FAILED) shared = found;
    void *warm[2];
    backtrace(warm, 2); /* loads what it needs now, not in the midst of a call */
}

/* Whether a path lies below the folder that is watched; made absolute first. */
static int below(int dir, const char *path, char *full) {
    if (!shared || !__atomic_load_n(&shared->armed, __ATOMIC_SEQ_CST) || !path) return 0;
    if (path[0] == '/') {
        snprintf(full, PATH_MAX, "%.4000s", path);
    } else {
        char link[64], base[PATH_MAX / 2];
        if (dir == AT_FDCWD) snprintf(link, sizeof link, "/proc/self/cwd");
        else snprintf(link, sizeof link, "/proc/self/fd/%d", dir);
        ssize_t n = syscall(SYS_readlink, link, base, sizeof base - 1);
        if (n < 0) return 0;
        base[n] = 0;
        snprintf(full, PATH_MAX, "%s/%.2000s", base, path);
    }
    size_t n = strlen(shared->folder);
    return strncmp(full, shared->folder, n) == 0 && (full[n] == '/' || full[n] == 0);
}

static int below_fd(int fd, char *full) {
    if (!shared || !__atomic_load_n(&shared->armed, __ATOMIC_SEQ_CST)) return 0;
    char link[64], path[PATH_MAX];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t n = syscall(SYS_readlink, link, path, sizeof path - 1);
    if (n < 0) return 0;
    path[n] = 0;
    return path[0] == '/' && below(AT_FDCWD, path, full);
}

static uint64_t site_of(void) {
    void *frames[FRAMES + 3];
    int n = backtrace(frames, FRAMES + 3);
    uint64_t hash = 1469598103934665603u;
    for (int i = 3; i < n; i++) hash = (hash ^ (uintptr_t)frames[i]) * 1099511628211u;
    return hash;
}

/* What becomes of a call: NONE for nothing out of the way, else how it fails. `grows`: whether it takes room. */
static int fate(const char *call, const char *path, int grows) {
    int n = __atomic_add_fetch(&shared->count, 1, __ATOMIC_SEQ_CST);
    if (shared->way == NONE && n <= MOST) {
        struct met *one = &shared->met[n - 1];
        snprintf(one->call, sizeof one->call, "%s", call);
        snprintf(one->path, sizeof one->path, "%s", path + strlen(shared->folder));
        one->site = site_of();
    }
    if (n == shared->at) {
        shared->hit = 1;
        if (shared->way == FULL || (shared->way == SHORT && grows)) shared->full = 1;
        return shared->way;
    }
    return shared->full && grows ? FULL : NONE; /* a full disk stays full */
}

static int failed(int way) {
    if (way == KILL) {
        syscall(SYS_kill, syscall(SYS_getpid), SIGKILL);
        for (;;) pause();
    }
    errno = way == FULL ? ENOSPC : EIO;
    return -1;
}

#define REAL(result, name, ...) \
    static result (*real)(__VA_ARGS__); \
    if (!real) real = (result(*)(__VA_ARGS__))dlsym(RTLD_NEXT, name)

#define PLAIN(name, args, given, where, grows) \
    int name args { \
        static int(*real) args; \
        if (!real) real = (int(*) args)dlsym(RTLD_NEXT, #name); \
        char full[PATH_MAX]; \
        if (where) { \
            int way = fate(#name, full, grows); \
            if (way != NONE && way != SHORT) return failed(way); \
        } \
        return real given; \
    }

PLAIN(fsync, (int fd), (fd), below_fd(fd, full), 0)
PLAIN(fdatasync, (int fd), (fd), below_fd(fd, full), 0)
PLAIN(ftruncate, (int fd, off_t size), (fd, size), below_fd(fd, full), 0)
PLAIN(ftruncate64, (int fd, off64_t size), (fd, size), below_fd(fd, full), 0)
PLAIN(truncate, (const char *path, off_t size), (path, size), below(AT_FDCWD, path, full), 0)
PLAIN(truncate64, (const char *path, off64_t size), (path, size), below(AT_FDCWD, path, full), 0)
PLAIN(fallocate, (int fd, int mode, off_t at, off_t size), (fd, mode, at, size), below_fd(fd, full), 1)
PLAIN(rename, (const char *from, const char *to), (from, to), below(AT_FDCWD, to, full), 0)
PLAIN(renameat, (int a, const char *from, int b, const char *to), (a, from, b, to), below(b, to, full), 0)
PLAIN(link, (const char *from, const char *to), (from, to), below(AT_FDCWD, to, full), 1)
PLAIN(linkat, (int a, const char *from, int b, const char *to, int flags), (a, from, b, to, flags),
      below(b, to, full), 1)
PLAIN(symlink, (const char *from, const char *to), (from, to), below(AT_FDCWD, to, full), 1)
PLAIN(mkdir, (const char *path, mode_t mode), (path, mode), below(AT_FDCWD, path, full), 1)
PLAIN(mkdirat, (int dir, const char *path, mode_t mode), (dir, path, mode), below(dir, path, full), 1)
PLAIN(unlink, (const char *path), (path), below(AT_FDCWD, path, full), 0)
PLAIN(unlinkat, (int dir, const char *path, int flags), (dir, path, flags), below(dir, path, full), 0)
PLAIN(remove, (const char *path), (path), below(AT_FDCWD, path, full), 0)
PLAIN(rmdir, (const char *path), (path), below(AT_FDCWD, path, full), 0)

#define WRITER(name, args, given, half, where) \
    ssize_t name args { \
        static ssize_t(*real) args; \
        if (!real) real = (ssize_t(*) args)dlsym(RTLD_NEXT, #name); \
        char full[PATH_MAX]; \
        if (where) { \
            int way = fate(#name, full, 1); \
            if (way == SHORT || way == KILL) { \
                ssize_t done = size > 1 ? real half : -1; \
                if (way == KILL || done < 0) return failed(way == KILL ? KILL : FULL); \
                return done; \
            } \
            if (way != NONE) return failed(way); \
        } \
        return real given; \
    }

WRITER(write, (int fd, const void *from, size_t size), (fd, from, size), (fd, from, size / 2), below_fd(fd, full))
WRITER(pwrite, (int fd, const void *from, size_t size, off_t at), (fd, from, size, at), (fd, from, size / 2, at),
       below_fd(fd, full))
WRITER(pwrite64, (int fd, const void *from, size_t size, off64_t at), (fd, from, size, at), (fd, from, size / 2, at),
       below_fd(fd, full))
WRITER(sendfile, (int fd, int from, off_t *at, size_t size), (fd, from, at, size), (fd, from, at, size / 2),
       below_fd(fd, full))
WRITER(sendfile64, (int fd, int from, off64_t *at, size_t size), (fd, from, at, size), (fd, from, at, size / 2),
       below_fd(fd, full))
WRITER(copy_file_range, (int from, off64_t *a, int fd, off64_t *b, size_t size, unsigned flags),
       (from, a, fd, b, size, flags), (from, a, fd, b, size / 2, flags), below_fd(fd, full))

ssize_t writev(int fd, const struct iovec *parts, int count) {
    REAL(ssize_t, "writev", int, const struct iovec *, int);
    char full[PATH_MAX];
    if (below_fd(fd, full)) {
        int way = fate("writev", full, 1);
        if (way == SHORT || way == KILL) {
            size_t half = count > 0 ? parts[0].iov_len / 2 : 0;
            ssize_t done = half ? syscall(SYS_write, fd, parts[0].iov_base, half) : -1;
            if (way == KILL || done < 0) return failed(way == KILL ? KILL : FULL);
            return done;
        }
        if (way != NONE) return failed(way);
    }
    return real(fd, parts, count);
}

#define OPENS(name) \
    int name(const char *path, int flags, ...) { \
        REAL(int, #name, const char *, int, ...); \
        mode_t mode = 0; \
        if (flags & (O_CREAT | O_TMPFILE)) { \
            va_list more; \
            va_start(more, flags); \
            mode = va_arg(more, mode_t); \
            va_end(more); \
        } \
        char full[PATH_MAX]; \
        if ((flags & (O_WRONLY | O_RDWR | O_CREAT)) && below(AT_FDCWD, path, full)) { \
            int way = fate(#name, full, flags & O_CREAT); \
            if (way != NONE && way != SHORT) return failed(way); \
        } \
        return real(path, flags, mode); \
    }
OPENS(open)
OPENS(open64)

#define OPENS_AT(name) \
    int name(int dir, const char *path, int flags, ...) { \
        REAL(int, #name, int, const char *, int, ...); \
        mode_t mode = 0; \
        if (flags & (O_CREAT | O_TMPFILE)) { \
            va_list more; \
            va_start(more, flags); \
            mode = va_arg(more, mode_t); \
            va_end(more); \
        } \
        char full[PATH_MAX]; \
        if ((flags & (O_WRONLY | O_RDWR | O_CREAT)) && below(dir, path, full)) { \
            int way = fate(#name, full, flags & O_CREAT); \
            if (way != NONE && way != SHORT) return failed(way); \
        } \
        return real(dir, path, flags, mode); \
    }
OPENS_AT(openat)
OPENS_AT(openat64)
