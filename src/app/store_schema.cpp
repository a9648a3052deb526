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
constexpr std::span<const char* const> kSteps[] = {kTables, kOrder};

constexpr int kVersion = static_cast<int>(std::size(kSteps));

}  // namespace

std::optional<std::string> bring_schema_up(soci::session& sql, bool is_server) {
  // Of several that come first only one makes the tables. Any number does that
  // nobody else uses.
  constexpr const char* kLock = "SELECT pg_advisory_xact_lock(7205759403)";
  if (is_server) sql << kLock;
  sql << "CREATE TABLE IF NOT EXISTS clockassay_meta (name VARCHAR(40) PRIMARY "
         "KEY, value INTEGER NOT NULL)";
  int version = 0;
  soci::indicator known = soci::i_null;
  sql << "SELECT value FROM clockassay_meta WHERE name = 'version'",
      soci::into(version, known);
  const bool is_new = !sql.got_data();
  if (is_new) version = 0;
  if (version > kVersion) {
    return "the store has version " + std::to_string(version) +
           ", and this program knows versions up to " +
           std::to_string(kVersion) + ": use a later one";
  }
  if (version == kVersion) return std::nullopt;
  for (int v = version; v < kVersion; ++v) {
    for (const char* statement : kSteps[v]) sql << statement;
  }
  const int now = kVersion;
  if (is_new) {
    sql << "INSERT INTO clockassay_meta (name, value) VALUES ('version', :v)",
        soci::use(now);
  } else {
    sql << "UPDATE clockassay_meta SET value = :v WHERE name = 'version'",
        soci::use(now);
  }
  return std::nullopt;
}

}  // namespace clockassay
