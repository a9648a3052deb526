// SPDX-License-Identifier: GPL-3.0-or-later
// make_manual FOLDER : writes the manual page and the completions there, under
// the names they are installed by.
#include <cstdio>
#include <fstream>
#include <string>

#include "app/manual/manual.h"

namespace {

bool write(const std::string& path, const std::string& text) {
  std::ofstream file(path, std::ios::binary);
  file << text;
  file.close();
  if (!file) std::fprintf(stderr, "%s: cannot be written\n", path.c_str());
  return static_cast<bool>(file);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) return 64;
  const std::string folder = std::string(argv[1]) + '/';
  using namespace clockassay;
  return write(folder + "clockassay.1", manual_page(CLOCKASSAY_VERSION)) &&
                 write(folder + "clockassay", bash_completion()) &&
                 write(folder + "_clockassay", zsh_completion()) &&
                 write(folder + "clockassay.fish", fish_completion())
             ? 0
             : 74;
}
