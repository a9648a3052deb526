// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/picture_files.h"

#include <algorithm>
#include <filesystem>
#include <iterator>
#include <string_view>
#include <system_error>
#include <utility>
#include <vector>

#include "app/delivery.h"
#include "clockassay/report/html_report.h"

namespace clockassay {
namespace {

using Pictures = std::vector<std::pair<std::string, std::string>>;

/// "course.svg", "course-2.svg": a name that only a run of ours gives.
bool is_name_of_ours(std::string_view name) {
  constexpr std::string_view kIds[] = {
      "limits",      "course",          "time-interval-error",
      "periods",     "allan-deviation", "error-spectrum",
      "temperature", "shifts",          "history",
      "pull"};
  constexpr std::string_view kSuffix = ".svg";
  if (!name.ends_with(kSuffix)) return false;
  name.remove_suffix(kSuffix.size());
  return std::any_of(
      std::begin(kIds), std::end(kIds), [name](std::string_view id) {
        if (!name.starts_with(id)) return false;
        const std::string_view rest = name.substr(id.size());
        return rest.empty() || (rest.size() > 1 && rest[0] == '-' &&
                                rest.find_first_not_of("0123456789", 1) ==
                                    std::string_view::npos);
      });
}

/// Pictures of an earlier run that this one has none of: beside new ones they
/// would pass for its own.
void remove_earlier(const std::string& folder, const Pictures& pictures) {
  std::error_code trouble;
  std::vector<std::filesystem::path> earlier;
  for (const auto& entry :
       std::filesystem::directory_iterator(folder, trouble)) {
    const std::string name = entry.path().filename().string();
    const bool is_new =
        std::any_of(pictures.begin(), pictures.end(),
                    [&](const auto& p) { return p.first == name; });
    if (!is_new && is_name_of_ours(name)) earlier.push_back(entry.path());
  }
  for (const auto& path : earlier) std::filesystem::remove(path, trouble);
}

}  // namespace

Result<void> write_report(const Record& record, const std::string& path) {
  const auto page = html_report(record);
  if (!page) return tl::unexpected(page.error());
  return write_output(path, *page);
}

Result<void> write_plots(const Record& record, const std::string& folder) {
  return write_charts(charts_of(record), folder);
}

Result<void> write_charts(const std::vector<Chart>& charts,
                          const std::string& folder) {
  // All are drawn before any is written.
  Pictures pictures;
  for (const Chart& chart : charts) {
    auto drawn = svg_chart(chart);
    if (!drawn) return tl::unexpected(drawn.error());
    pictures.emplace_back(chart.id + ".svg", *std::move(drawn));
  }
  std::error_code trouble;
  std::filesystem::create_directories(folder, trouble);
  if (trouble) {
    Error error{ErrorCode::kCannotCreate,
                "cannot make the folder: " + trouble.message(), ""};
    error.path = folder;
    return tl::unexpected(std::move(error));
  }
  remove_earlier(folder, pictures);
  for (const auto& [name, text] : pictures) {
    const std::string path = (std::filesystem::path(folder) / name).string();
    if (auto written = write_output(path, text); !written) return written;
  }
  return {};
}

}  // namespace clockassay
