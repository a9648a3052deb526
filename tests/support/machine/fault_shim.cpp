// SPDX-License-Identifier: GPL-3.0-or-later
// Loaded before a program (LD_PRELOAD), it makes calls of the system go wrong,
// as CLOCKASSAY_FAULT says:
//
//   CALL:PATH:FIRST:COUNT:WHAT
//
// CALL   one of the functions below by its name; of several the plain one
// PATH   only files whose path has this in it; empty: all. Of malloc: "forked"
//        in processes that the program makes by fork() only, "first" in its own
// FIRST  the first such call that goes wrong, counted from 1
// COUNT  how many do; 0: all from then on
// WHAT   a number: fails with that errno. short: half of it, at most 16 bytes.
//        zero: nothing, without a reason. signal=N: sent to this process, then
//        the call goes on. shorten=N, append=TEXT, rewrite: done to the file,
//        then the call goes on.
//
// At the end "CALL PATH N" is appended to CLOCKASSAY_FAULT_COUNT, if set: how
// many such calls there were.
#include <dirent.h>
#include <dlfcn.h>
#include <fcntl.h>
#include <pthread.h>
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <climits>
#include <csignal>
#include <cstdarg>
#include <cstdio>
#include <cstdlib>
#include <cstring>

extern "C" void* __libc_malloc(size_t size);
extern "C" void* __libc_calloc(size_t count, size_t size);
extern "C" void* __libc_realloc(void* old, size_t size);

namespace {

struct Fault {
  char call[32] = "";
  char path[256] = "";
  long first = 0;
  long count = 0;
  char what[64] = "";
};

Fault fault;
std::atomic<long> calls{0};
std::atomic<bool> is_ready{false};
std::atomic<bool> is_forked{false};

const char* take_field(const char* from, char* to, size_t room) {
  const char* end = std::strchr(from, ':');
  if (end == nullptr) end = from + std::strlen(from);
  const auto size = static_cast<size_t>(end - from);
  if (size < room) std::memcpy(to, from, size);
  return *end == ':' ? end + 1 : end;
}

__attribute__((constructor)) void read_fault() {
  const char* text = std::getenv("CLOCKASSAY_FAULT");
  if (text == nullptr) return;
  char number[32] = "";
  text = take_field(text, fault.call, sizeof fault.call - 1);
  text = take_field(text, fault.path, sizeof fault.path - 1);
  text = take_field(text, number, sizeof number - 1);
  fault.first = std::atol(number);
  std::memset(number, 0, sizeof number);
  text = take_field(text, number, sizeof number - 1);
  fault.count = std::atol(number);
  std::strncpy(fault.what, text, sizeof fault.what - 1);
  pthread_atfork(nullptr, nullptr, [] { is_forked = true; });
  is_ready = true;
}

__attribute__((destructor)) void tell_count() {
  const char* path = std::getenv("CLOCKASSAY_FAULT_COUNT");
  if (path == nullptr || !is_ready.exchange(false)) return;
  std::FILE* file = std::fopen(path, "a");
  if (file == nullptr) return;
  std::fprintf(file, "%s %s %ld\n", fault.call, fault.path, calls.load());
  std::fclose(file);
}

// Whether this call is one that goes wrong.
bool is_due(const char* call, const char* path) {
  if (!is_ready || std::strcmp(call, fault.call) != 0) return false;
  if (std::strstr(path, fault.path) == nullptr) return false;
  const long n = ++calls;
  return n >= fault.first &&
         (fault.count == 0 || n < fault.first + fault.count);
}

bool is_due(const char* call, int fd) {
  if (!is_ready || std::strcmp(call, fault.call) != 0) return false;
  const int before = errno;
  char link[64];
  char path[PATH_MAX] = "";
  std::snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
  const ssize_t length = readlink(link, path, sizeof path - 1);
  errno = before;
  return length > 0 && is_due(call, path);
}

bool asks_for(const char* what) {
  return std::strncmp(fault.what, what, std::strlen(what)) == 0;
}

const char* argument() {
  const char* equals = std::strchr(fault.what, '=');
  return equals == nullptr ? "" : equals + 1;
}

void change_file(int fd) {
  char link[64];
  std::snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
  const int file = static_cast<int>(
      openat(AT_FDCWD, link, O_RDWR | (asks_for("append") ? O_APPEND : 0)));
  if (file < 0) std::abort();
  // Not within the clock tick in which it was made.
  timespec times[2] = {{0, UTIME_OMIT}, {1, 0}};
  if (asks_for("shorten") && ftruncate(file, std::atol(argument())) != 0) {
    std::abort();
  }
  if (asks_for("append") &&
      write(file, argument(), std::strlen(argument())) < 0) {
    std::abort();
  }
  if (asks_for("rewrite") && futimens(file, times) != 0) std::abort();
  close(file);
}

// Does what is asked for; true if the call shall not be made, with errno set.
bool goes_wrong(int fd) {
  if (asks_for("signal")) {
    // Not to this thread: which one takes it is for the program to say.
    kill(getpid(), std::atoi(argument()));
    return false;
  }
  if (asks_for("shorten") || asks_for("append") || asks_for("rewrite")) {
    change_file(fd);
    return false;
  }
  if (asks_for("short") || asks_for("zero")) return false;
  errno = std::atoi(fault.what);
  return true;
}

size_t shorter(size_t size) {
  constexpr size_t kMost = 16;
  if (asks_for("zero")) return 0;
  if (std::strcmp(fault.what, "short") != 0 || size < 2) return size;
  return size / 2 < kMost ? size / 2 : kMost;
}

template <class Function>
Function* next(const char* name) {
  void* found = dlsym(RTLD_NEXT, name);
  if (found == nullptr) std::abort();
  return reinterpret_cast<Function*>(found);
}

}  // namespace

// NOLINTBEGIN(cppcoreguidelines-macro-usage)
#define NEXT(name) static auto* const real = next<decltype(name)>(#name)

// Calls of a descriptor that move bytes.
#define MOVES_BYTES(name, call, parameters, arguments) \
  extern "C" ssize_t name parameters {                 \
    NEXT(name);                                        \
    if (is_due(call, fd)) {                            \
      if (goes_wrong(fd)) return -1;                   \
      size = shorter(size);                            \
      if (size == 0) return 0;                         \
    }                                                  \
    return real arguments;                             \
  }

MOVES_BYTES(read, "read", (int fd, void* to, size_t size), (fd, to, size))
MOVES_BYTES(write, "write", (int fd, const void* from, size_t size),
            (fd, from, size))
MOVES_BYTES(pread, "pread", (int fd, void* to, size_t size, off_t at),
            (fd, to, size, at))
MOVES_BYTES(pread64, "pread", (int fd, void* to, size_t size, off64_t at),
            (fd, to, size, at))
MOVES_BYTES(pwrite64, "pwrite",
            (int fd, const void* from, size_t size, off64_t at),
            (fd, from, size, at))

// Other calls of a descriptor.
#define OF_DESCRIPTOR(name, parameters, arguments) \
  extern "C" int name parameters {                 \
    NEXT(name);                                    \
    if (is_due(#name, fd) && goes_wrong(fd)) {     \
      return -1;                                   \
    }                                              \
    return real arguments;                         \
  }

OF_DESCRIPTOR(fsync, (int fd), (fd))
OF_DESCRIPTOR(fdatasync, (int fd), (fd))
OF_DESCRIPTOR(fchmod, (int fd, mode_t mode), (fd, mode))

// The descriptor is gone, whatever close() says.
extern "C" int close(int fd) {
  NEXT(close);
  const bool wrong = is_due("close", fd);
  const int done = real(fd);
  return wrong && goes_wrong(-1) ? -1 : done;
}

extern "C" int rename(const char* from, const char* to) {
  NEXT(rename);
  if (is_due("rename", to) && goes_wrong(-1)) return -1;
  return real(from, to);
}

extern "C" int mkostemp(char* path, int flags) {
  NEXT(mkostemp);
  if (is_due("mkostemp", path) && goes_wrong(-1)) return -1;
  return real(path, flags);
}

extern "C" int mkdir(const char* path, mode_t mode) {
  NEXT(mkdir);
  if (is_due("mkdir", path) && goes_wrong(-1)) return -1;
  return real(path, mode);
}

extern "C" DIR* opendir(const char* path) {
  NEXT(opendir);
  if (is_due("opendir", path) && goes_wrong(-1)) return nullptr;
  return real(path);
}

extern "C" pid_t fork(void) noexcept {
  NEXT(fork);
  if (is_due("fork", "") && goes_wrong(-1)) return -1;
  return real();
}

#define OPENS(name)                                        \
  extern "C" int name(const char* path, int flags, ...) {  \
    NEXT(name);                                            \
    va_list more;                                          \
    va_start(more, flags);                                 \
    const mode_t mode = va_arg(more, mode_t);              \
    va_end(more);                                          \
    if (is_due("open", path) && goes_wrong(-1)) return -1; \
    return real(path, flags, mode);                        \
  }

OPENS(open)
OPENS(open64)

extern "C" void* dlopen(const char* path, int flags) {
  NEXT(dlopen);
  if (is_due("dlopen", path == nullptr ? "" : path) && goes_wrong(-1)) {
    return nullptr;
  }
  return real(path, flags);
}

// Memory.
#define GIVES_MEMORY(name, parameters, arguments)                       \
  extern "C" void* name parameters {                                    \
    if (is_ready && is_due("malloc", is_forked ? "forked" : "first")) { \
      errno = ENOMEM;                                                   \
      return nullptr;                                                   \
    }                                                                   \
    return __libc_##name arguments;                                     \
  }

GIVES_MEMORY(malloc, (size_t size), (size))
GIVES_MEMORY(calloc, (size_t count, size_t size), (count, size))
GIVES_MEMORY(realloc, (void* old, size_t size), (old, size))
// NOLINTEND(cppcoreguidelines-macro-usage)
