// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/delivery.h"

#include <algorithm>
#include <utility>

#include "app/console.h"
#include "app/file_descriptor.h"
#include "app/output_file.h"
#include "app/picture_files.h"
#include "clockassay/report/report.h"

namespace clockassay {
namespace {

struct Place {
  const std::string& path;
  std::optional<FileIdentity> file;
};

std::vector<Place> places_of(const std::vector<std::string>& paths) {
  std::vector<Place> places;
  for (const std::string& path : paths) {
    places.push_back({path, regular_file_identity(path)});
  }
  return places;
}

// The same path counts as one file even before it exists.
bool same_file(const Place& a, const Place& b) {
  if (a.path == b.path) return a.path == "-" || !a.path.starts_with("/dev/");
  return a.file && a.file == b.file;
}

tl::unexpected<Error> refused(const std::string& path, const char* message) {
  Error error{ErrorCode::kUsage, message, "name another file"};
  error.path = path;
  return tl::unexpected(error);
}

/// Out: is_checked of the record's text
Result<void> deliver_json(const Record& record, const std::string& path,
                          bool& is_checked) {
  const auto text = json_report(record);
  if (!text) return tl::unexpected(text.error());
  is_checked = true;
  return write_output(path, *text);
}

Result<void> deliver_text(const Record& record,
                          const ReadingArguments& arguments, bool is_checked) {
  TextOptions options;
  options.is_checked = is_checked;
  options.color = wants_color(arguments.color);
  options.quiet = arguments.quiet;
  const auto text = text_report(record, options);
  if (!text) return tl::unexpected(text.error());
  return print(*text);
}

}  // namespace

Result<void> write_output(const std::string& path, const std::string& text) {
  if (path == "-") return print(text);
  auto file = OutputFile::create(path);
  if (!file) return tl::unexpected(file.error());
  if (auto written = file->write(text); !written) return written;
  return file->commit();
}

void add_error(Record& record, Error error) {
  complain(error);
  record.errors.push_back(std::move(error));
}

Result<void> check_outputs(const std::vector<std::string>& inputs,
                           const std::vector<std::string>& outputs) {
  const std::vector<Place> from = places_of(inputs);
  const std::vector<Place> to = places_of(outputs);
  for (std::size_t i = 0; i < to.size(); ++i) {
    for (const Place& input : from) {
      // "-" is standard input here and standard output there.
      if (input.path != "-" && outputs[i] != "-" && same_file(input, to[i])) {
        return refused(outputs[i], "the output is also an input");
      }
    }
    for (std::size_t j = 0; j < i; ++j) {
      if (same_file(to[j], to[i])) {
        return refused(outputs[i], "two outputs go to the same file");
      }
    }
  }
  return {};
}

void add_pictures(const std::optional<std::string>& folder,
                  std::vector<std::string>& outputs) {
  if (!folder) return;
  for (std::string& path : pictures_in(*folder)) {
    outputs.push_back(std::move(path));
  }
}

ExitCode deliver(Record& record, const ReadingArguments& arguments,
                 bool allow_undecided, bool is_taken) {
  bool is_checked = false;
  if (arguments.json) {
    if (auto done = deliver_json(record, *arguments.json, is_checked); !done) {
      add_error(record, done.error());
    }
  }
  if (arguments.report) {
    if (auto done = write_report(record, *arguments.report); !done) {
      add_error(record, done.error());
    }
  }
  if (arguments.plots) {
    if (auto done = write_plots(record, *arguments.plots); !done) {
      add_error(record, done.error());
    }
  }
  // Without any capture the messages on standard error say everything.
  const bool any = !record.captures.empty() || !record.refused.empty() ||
                   !record.drifts.empty() || record.comparison ||
                   !record.trends.empty();
  if (arguments.json != "-" && !is_taken && any) {
    if (auto done = deliver_text(record, arguments, is_checked); !done) {
      add_error(record, done.error());
    }
  }
  return exit_code(record, allow_undecided);
}

void print_errors_as_json(const Record& record) {
  const auto text = json_report(record);
  if (text) (void)print(*text);  // the error being reported outranks this one
}

ExitCode refuse_outputs(Record& record, const Error& error,
                        const std::optional<std::string>& json) {
  add_error(record, error);
  if (json == "-") print_errors_as_json(record);
  return exit_code(error.code);
}

}  // namespace clockassay
