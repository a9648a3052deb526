// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/trend_command.h"

#include <algorithm>
#include <utility>

#include "app/delivery.h"
#include "app/picture_files.h"
#include "app/store.h"
#include "app/store_url.h"

namespace clockassay {
namespace {

// A tag nobody has tells nothing apart, and what is one history then is not.
Result<void> check_tags(const std::vector<StoredRow>& rows,
                        const TrendArguments& arguments) {
  if (!arguments.by_stated || rows.empty()) return {};
  for (const std::string& key : arguments.options.by) {
    const bool is_there =
        std::any_of(rows.begin(), rows.end(), [&key](const StoredRow& r) {
          return find_tag(r.tags, key) != nullptr;
        });
    if (!is_there) {
      return failure(ErrorCode::kUsage,
                     "--by: found \"" + key +
                         "\", which no result of the store has as a tag",
                     "tags are given with --tag when results are stored");
    }
  }
  return {};
}

Result<std::vector<Trend>> load(const TrendArguments& arguments) {
  auto store = Store::open(arguments.store, StoreUse::kRead);
  if (!store) return tl::unexpected(store.error());
  const auto rows = store->read();
  if (!rows) return tl::unexpected(rows.error());
  if (auto known = check_tags(*rows, arguments); !known) {
    return tl::unexpected(known.error());
  }
  auto trends = make_trends(*rows, arguments.options);
  if (!trends.empty()) return trends;
  Error error{ErrorCode::kBadData,
              rows->empty() ? "the store holds no result"
                            : "no result of the store is what was asked for",
              rows->empty() ? "verify --store and measure --store write there"
                            : "leave out --clock and --tag to see what it has"};
  error.path = shown_url(arguments.store);
  return tl::unexpected(std::move(error));
}

}  // namespace

ExitCode run_trend(const CommandLine& line, const std::string& version) {
  Record record;
  record.tool_version = version;
  record.command = "trend";
  std::vector<std::string> outputs;
  if (line.reading.json) outputs.push_back(*line.reading.json);
  if (line.reading.report) outputs.push_back(*line.reading.report);
  add_pictures(line.reading.plots, outputs);
  auto checked = check_outputs({line.trend.store}, outputs);
  if (checked) checked = check_pictures(line.reading.plots, record.command);
  if (!checked) {
    return refuse_outputs(record, checked.error(), line.reading.json);
  }
  auto trends = load(line.trend);
  if (trends) {
    record.trends = *std::move(trends);
  } else {
    add_error(record, trends.error());
  }
  return deliver(record, line.reading, false);
}

}  // namespace clockassay
