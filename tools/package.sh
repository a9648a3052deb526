#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Makes the Debian packages, as they are meant to be handed on: optimised, for
# /usr. Prints their paths. Where lintian is installed, it has to find nothing.
#   package.sh [FOLDER]    default: build-package/packages
set -eu
cd "$(dirname "$0")/.."

build=build-package
folder=${1:-$build/packages}

tools/install_packages.sh
library=lib/$(dpkg-architecture -q DEB_HOST_MULTIARCH)
cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Release \
  -DCMAKE_INSTALL_PREFIX=/usr -DCMAKE_INSTALL_LIBDIR="$library" \
  -DBUILD_TESTING=OFF >&2
cmake --build "$build" >&2
cpack -G DEB --config "$build/CPackConfig.cmake" -B "$folder" >&2
if command -v lintian >/dev/null; then
  lintian --fail-on error,warning --allow-root "$folder"/*.deb >&2
fi
ls "$folder"/*.deb
