// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/store_schema.h"

#include <soci/soci.h>

#include <iterator>
#include <span>

namespace clockassay {
namespace {

// One step a version, applied in order. A step that was ever in use is never
// changed.
constexpr const char* kTables[] = {
    "CREATE TABLE clockassay_result (digest VARCHAR(40) PRIMARY KEY, taken_s "
    "DOUBLE PRECISION NOT NULL, capture TEXT NOT NULL, clock TEXT NOT NULL, "
    "channel TEXT NOT NULL, command TEXT NOT NULL, tool_version TEXT NOT "
    "NULL, expected_hz DOUBLE PRECISION, frequency_hz DOUBLE PRECISION, "
    "error_ppm DOUBLE PRECISION, expanded_ppm DOUBLE PRECISION, "
    "period_jitter_s DOUBLE PRECISION, duty DOUBLE PRECISION, decision TEXT)",
    "CREATE TABLE clockassay_tag (digest VARCHAR(40) NOT NULL REFERENCES "
    "clockassay_result (digest), name TEXT NOT NULL, value TEXT NOT NULL, "
    "PRIMARY KEY (digest, name))"};
constexpr const char* kOrder[] = {
    "CREATE INDEX clockassay_result_by_time ON clockassay_result (taken_s)"};
// What was known of the instrument's time. Absent in what is there already.
constexpr const char* kTimebase[] = {
    "ALTER TABLE clockassay_result ADD COLUMN timebase_kind TEXT",
    "ALTER TABLE clockassay_result ADD COLUMN timebase_offset_ppm DOUBLE "
    "PRECISION",
    "ALTER TABLE clockassay_result ADD COLUMN timebase_tolerance_ppm DOUBLE "
    "PRECISION"};
constexpr int kTimebaseSince = 3;  // the version of that step
constexpr std::span<const char* const> kSteps[] = {kTables, kOrder, kTimebase};

constexpr int kVersion = static_cast<int>(std::size(kSteps));

int count_tables(soci::session& sql, bool is_server, const char* which) {
  int count = 0;
  const std::string from =
      is_server ? "information_schema.tables WHERE table_schema = ANY "
                  "(current_schemas(false)) AND table_name "
                : "sqlite_master WHERE type = 'table' AND name ";
  sql << "SELECT COUNT(*) FROM " + from + which, soci::into(count);
  return count;
}

bool has_meta(soci::session& sql, bool is_server) {
  return count_tables(sql, is_server, "= 'clockassay_meta'") > 0;
}

std::optional<int> version_of(soci::session& sql) {
  int version = 0;
  sql << "SELECT value FROM clockassay_meta WHERE name = 'version'",
      soci::into(version);
  return sql.got_data() ? std::optional(version) : std::nullopt;
}

std::string too_new(int version) {
  return "the store has version " + std::to_string(version) +
         ", and this program knows versions up to " + std::to_string(kVersion) +
         ": use a later one";
}

// A file that others keep their tables in is not made a store; a database of a
// server is for many.
std::optional<std::string> make_meta(soci::session& sql, bool is_server) {
  if (!is_server && count_tables(sql, is_server, "<> ''") > 0) {
    return "it holds tables of something else: name a file of its own";
  }
  sql << "CREATE TABLE clockassay_meta (name VARCHAR(40) PRIMARY KEY, value "
         "INTEGER NOT NULL)";
  return std::nullopt;
}

}  // namespace

bool keeps_timebases(soci::session& sql) {
  return version_of(sql).value_or(0) >= kTimebaseSince;
}

std::optional<std::string> look_at_schema(soci::session& sql, bool is_server) {
  if (!has_meta(sql, is_server)) return "it is no store of results";
  const auto version = version_of(sql);
  if (!version) return "it is no store of results";
  if (*version > kVersion) return too_new(*version);
  return std::nullopt;
}

std::optional<std::string> bring_schema_up(soci::session& sql, bool is_server) {
  // Of several that come first only one makes the tables. Any number does that
  // nobody else uses.
  constexpr const char* kLock = "SELECT pg_advisory_xact_lock(7205759403)";
  if (is_server) sql << kLock;
  if (!has_meta(sql, is_server)) {
    if (auto why = make_meta(sql, is_server)) return why;
  }
  const auto known = version_of(sql);
  const int version = known.value_or(0);
  if (version > kVersion) return too_new(version);
  if (version == kVersion) return std::nullopt;
  for (int v = version; v < kVersion; ++v) {
    for (const char* statement : kSteps[v]) sql << statement;
  }
  const int now = kVersion;
  if (known) {
    sql << "UPDATE clockassay_meta SET value = :v WHERE name = 'version'",
        soci::use(now);
  } else {
    sql << "INSERT INTO clockassay_meta (name, value) VALUES ('version', :v)",
        soci::use(now);
  }
  return std::nullopt;
}

}  // namespace clockassay
