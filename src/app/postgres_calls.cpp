// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/postgres_calls.h"

#include <dlfcn.h>
#include <libpq-fe.h>

#include <cstddef>

#include "base/loaded_function.h"

namespace clockassay {
namespace {

// The name that stands for the calls below, not for one version of the library.
constexpr const char* kLibrary = "libpq.so.5";

void* library() {
  static void* const handle = dlopen(kLibrary, RTLD_NOW | RTLD_LOCAL);
  return handle;
}

template <class Function>
Function* loaded(const char* name) {
  return loaded_function<Function>(library(), name);
}

}  // namespace

Result<void> have_postgres_client() {
  if (library() != nullptr) return {};
  return failure(ErrorCode::kCannotCreate,
                 std::string("found no ") + kLibrary +
                     ", expected the client library of PostgreSQL",
                 "install the package libpq5");
}

}  // namespace clockassay

// Those of the client library's functions that a store uses, under their own
// names and with its own declarations: each hands on to the library.
// NOLINTNEXTLINE(cppcoreguidelines-macro-usage)
#define CLOCKASSAY_CALL(result, name, parameters, arguments)             \
  extern "C" result name parameters {                                    \
    static auto* const call = clockassay::loaded<decltype(name)>(#name); \
    return call arguments;                                               \
  }

CLOCKASSAY_CALL(void, PQclear, (PGresult * a), (a))
CLOCKASSAY_CALL(char*, PQcmdTuples, (PGresult * a), (a))
CLOCKASSAY_CALL(PGconn*, PQconnectdb, (const char* a), (a))
CLOCKASSAY_CALL(char*, PQerrorMessage, (const PGconn* a), (a))
CLOCKASSAY_CALL(PGresult*, PQexec, (PGconn * a, const char* b), (a, b))
CLOCKASSAY_CALL(PGresult*, PQexecParams,
                (PGconn * a, const char* b, int c, const Oid* d,
                 const char* const* e, const int* f, const int* g, int h),
                (a, b, c, d, e, f, g, h))
CLOCKASSAY_CALL(PGresult*, PQexecPrepared,
                (PGconn * a, const char* b, int c, const char* const* d,
                 const int* e, const int* f, int g),
                (a, b, c, d, e, f, g))
CLOCKASSAY_CALL(int, PQfformat, (const PGresult* a, int b), (a, b))
CLOCKASSAY_CALL(void, PQfinish, (PGconn * a), (a))
CLOCKASSAY_CALL(char*, PQfname, (const PGresult* a, int b), (a, b))
CLOCKASSAY_CALL(int, PQfsize, (const PGresult* a, int b), (a, b))
CLOCKASSAY_CALL(Oid, PQftype, (const PGresult* a, int b), (a, b))
CLOCKASSAY_CALL(PGresult*, PQgetResult, (PGconn * a), (a))
CLOCKASSAY_CALL(int, PQgetisnull, (const PGresult* a, int b, int c), (a, b, c))
CLOCKASSAY_CALL(char*, PQgetvalue, (const PGresult* a, int b, int c), (a, b, c))
CLOCKASSAY_CALL(int, PQnfields, (const PGresult* a), (a))
CLOCKASSAY_CALL(int, PQntuples, (const PGresult* a), (a))
CLOCKASSAY_CALL(PGresult*, PQprepare,
                (PGconn * a, const char* b, const char* c, int d, const Oid* e),
                (a, b, c, d, e))
CLOCKASSAY_CALL(char*, PQresultErrorField, (const PGresult* a, int b), (a, b))
CLOCKASSAY_CALL(char*, PQresultErrorMessage, (const PGresult* a), (a))
CLOCKASSAY_CALL(ExecStatusType, PQresultStatus, (const PGresult* a), (a))
CLOCKASSAY_CALL(int, PQsendPrepare,
                (PGconn * a, const char* b, const char* c, int d, const Oid* e),
                (a, b, c, d, e))
CLOCKASSAY_CALL(int, PQsendQuery, (PGconn * a, const char* b), (a, b))
CLOCKASSAY_CALL(int, PQsendQueryParams,
                (PGconn * a, const char* b, int c, const Oid* d,
                 const char* const* e, const int* f, const int* g, int h),
                (a, b, c, d, e, f, g, h))
CLOCKASSAY_CALL(int, PQsendQueryPrepared,
                (PGconn * a, const char* b, int c, const char* const* d,
                 const int* e, const int* f, int g),
                (a, b, c, d, e, f, g))
CLOCKASSAY_CALL(int, PQserverVersion, (const PGconn* a), (a))
CLOCKASSAY_CALL(int, PQsetSingleRowMode, (PGconn * a), (a))
CLOCKASSAY_CALL(ConnStatusType, PQstatus, (const PGconn* a), (a))
CLOCKASSAY_CALL(int, lo_close, (PGconn * a, int b), (a, b))
CLOCKASSAY_CALL(int, lo_lseek, (PGconn * a, int b, int c, int d), (a, b, c, d))
CLOCKASSAY_CALL(int, lo_open, (PGconn * a, Oid b, int c), (a, b, c))
CLOCKASSAY_CALL(int, lo_read, (PGconn * a, int b, char* c, size_t d),
                (a, b, c, d))
CLOCKASSAY_CALL(int, lo_write, (PGconn * a, int b, const char* c, size_t d),
                (a, b, c, d))

#undef CLOCKASSAY_CALL
