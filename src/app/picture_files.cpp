// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/picture_files.h"

#include <filesystem>
#include <system_error>
#include <utility>
#include <vector>

#include "app/delivery.h"
#include "clockassay/report/html_report.h"

namespace clockassay {

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
  std::vector<std::pair<std::string, std::string>> pictures;
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
  for (const auto& [name, text] : pictures) {
    const std::string path = (std::filesystem::path(folder) / name).string();
    if (auto written = write_output(path, text); !written) return written;
  }
  return {};
}

}  // namespace clockassay
