// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/picture_files.h"

#include <algorithm>
#include <cerrno>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string_view>
#include <system_error>
#include <utility>
#include <vector>

#include "app/delivery.h"
#include "app/drawing_apart.h"
#include "app/file_descriptor.h"
#include "app/output_file.h"
#include "clockassay/report/html_report.h"

namespace clockassay {
namespace {

using Pictures = std::vector<std::pair<std::string, std::string>>;

constexpr std::string_view kOfChannels[] = {"course", "time-interval-error",
                                            "periods", "allan-deviation",
                                            "error-spectrum"};

/// A chart that a command may have.
bool may_draw(std::string_view command, std::string_view id) {
  if (command == "measure" || command == "verify") {
    return (command == "verify" && id == "limits") ||
           std::find(std::begin(kOfChannels), std::end(kOfChannels), id) !=
               std::end(kOfChannels);
  }
  if (command == "compare") return id == "shifts";
  if (command == "drift") return id == "limits" || id == "temperature";
  if (command == "trend") return id == "history";
  return command == "plan" && id == "pull";
}

/// A chart that any command may have.
bool is_id(std::string_view id) {
  constexpr std::string_view kCommands[] = {"verify", "compare", "drift",
                                            "trend", "plan"};
  return std::any_of(
      std::begin(kCommands), std::end(kCommands),
      [id](std::string_view command) { return may_draw(command, id); });
}

/// "course" of "course.svg" and "course-2.svg"; empty: no such name.
std::string_view id_of(std::string_view name) {
  constexpr std::string_view kSuffix = ".svg";
  if (!name.ends_with(kSuffix)) return {};
  name.remove_suffix(kSuffix.size());
  const std::size_t hyphen = name.rfind('-');
  if (hyphen != name.npos && hyphen + 1 < name.size() &&
      name.find_first_not_of("0123456789", hyphen + 1) == name.npos) {
    name = name.substr(0, hyphen);
  }
  return name;
}

/// By its mark, which stands at the beginning.
bool is_ours(const std::filesystem::path& path) {
  std::error_code trouble;
  if (!std::filesystem::is_regular_file(path, trouble)) return false;
  std::ifstream file(path, std::ios::binary);
  std::string beginning(1024, '\0');
  file.read(beginning.data(), static_cast<std::streamsize>(beginning.size()));
  beginning.resize(static_cast<std::size_t>(file.gcount()));
  return beginning.find(std::string("<!--") + kPictureMark + "-->") !=
         std::string::npos;
}

std::vector<std::filesystem::path> files_in(const std::string& folder) {
  std::error_code trouble;
  std::vector<std::filesystem::path> files;
  std::filesystem::directory_iterator entry(folder, trouble);
  for (; !trouble && entry != std::filesystem::directory_iterator();
       entry.increment(trouble)) {
    // A picture that was renamed is kept on purpose.
    if (is_id(id_of(entry->path().filename().string()))) {
      files.push_back(entry->path());
    }
  }
  std::sort(files.begin(), files.end());
  return files;
}

tl::unexpected<Error> not_ours(const std::filesystem::path& path) {
  Error error{ErrorCode::kCannotCreate,
              "found a file that is no picture of clockassay's, expected none "
              "of a name that --plots gives, which would be overwritten",
              "name another folder, or move the file"};
  error.path = path.string();
  return tl::unexpected(std::move(error));
}

/// Pictures of an earlier run that this one has none of: beside new ones they
/// would pass for its own.
void remove_earlier(const std::string& folder, const Pictures& pictures) {
  std::error_code trouble;
  for (const std::string& path : pictures_in(folder)) {
    const std::string name = std::filesystem::path(path).filename().string();
    const bool is_new =
        std::any_of(pictures.begin(), pictures.end(),
                    [&](const auto& p) { return p.first == name; });
    if (!is_new) std::filesystem::remove(path, trouble);
  }
}

/// All of them, or none that is new.
Result<void> write_all_of(const Pictures& pictures, const std::string& folder) {
  for (const auto& [name, text] : pictures) {
    const auto path = std::filesystem::path(folder) / name;
    std::error_code trouble;
    if (std::filesystem::exists(path, trouble) && !is_ours(path)) {
      return not_ours(path);
    }
  }
  std::vector<OutputFile> files;
  for (const auto& [name, text] : pictures) {
    auto file =
        OutputFile::create((std::filesystem::path(folder) / name).string());
    if (!file) return tl::unexpected(file.error());
    if (auto written = file->write(text); !written) return written;
    if (auto sealed = file->seal(); !sealed) return sealed;
    files.push_back(*std::move(file));
  }
  for (OutputFile& file : files) {
    if (auto done = file.commit(); !done) return done;
  }
  return {};
}

Result<void> make_folder(const std::string& folder) {
  std::error_code trouble;
  std::filesystem::create_directories(folder, trouble);
  if (!trouble) return {};
  errno = trouble.value();
  return tl::unexpected(
      system_error(ErrorCode::kCannotCreate, "cannot make the folder", folder));
}

}  // namespace

std::vector<std::string> pictures_in(const std::string& folder) {
  std::vector<std::string> pictures;
  for (const std::filesystem::path& path : files_in(folder)) {
    if (is_ours(path)) pictures.push_back(path.string());
  }
  return pictures;
}

Result<void> check_pictures(const std::optional<std::string>& folder,
                            std::string_view command) {
  if (!folder) return {};
  for (const std::filesystem::path& path : files_in(*folder)) {
    const std::string name = path.filename().string();
    if (may_draw(command, id_of(name)) && !is_ours(path)) return not_ours(path);
  }
  return {};
}

Result<void> write_page(const PageMaker& make, const std::string& path) {
  auto made = made_apart([&make]() -> Result<std::vector<std::string>> {
    auto page = make();
    if (!page) return tl::unexpected(page.error());
    return std::vector<std::string>{*std::move(page)};
  });
  if (!made) {
    if (made.error().path.empty()) made.error().path = path;
    return tl::unexpected(made.error());
  }
  return write_output(path, made->front());
}

Result<void> write_report(const Record& record, const std::string& path) {
  return write_page([&record] { return html_report(record); }, path);
}

Result<void> write_plots(const Record& record, const std::string& folder) {
  const std::vector<Chart> charts = charts_of(record);
  // A run that failed before there was anything to draw leaves what is there.
  if (charts.empty() && !record.errors.empty()) return make_folder(folder);
  return write_charts(charts, folder);
}

Result<void> write_charts(const std::vector<Chart>& charts,
                          const std::string& folder) {
  // All are drawn before any is written.
  auto drawn = draw_apart(charts);
  if (!drawn) {
    if (drawn.error().path.empty()) drawn.error().path = folder;
    return tl::unexpected(drawn.error());
  }
  Pictures pictures;
  for (std::size_t i = 0; i < charts.size(); ++i) {
    pictures.emplace_back(charts[i].id + ".svg", std::move((*drawn)[i]));
  }
  if (auto made = make_folder(folder); !made) return made;
  if (auto written = write_all_of(pictures, folder); !written) return written;
  remove_earlier(folder, pictures);
  return {};
}

}  // namespace clockassay
