# SPDX-License-Identifier: GPL-3.0-or-later
# Debian packages by cpack: the program, and the library for other programs.
set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME clockassay)
set(CPACK_PACKAGE_VENDOR "The clockassay authors")
set(CPACK_PACKAGE_CONTACT "The clockassay authors <no-reply@example.invalid>")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS OWNER_READ OWNER_WRITE
  OWNER_EXECUTE GROUP_READ GROUP_EXECUTE WORLD_READ WORLD_EXECUTE)
# What only a Debian package wants; see there.
set(CPACK_PRE_BUILD_SCRIPTS ${CMAKE_CURRENT_LIST_DIR}/debian/finish.cmake)
set(CPACK_COMPONENTS_ALL program development)

set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_COMPRESSION_TYPE xz)
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION ON)

set(CPACK_DEBIAN_PROGRAM_PACKAGE_NAME clockassay)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_SECTION electronics)
set(CPACK_COMPONENT_PROGRAM_DESCRIPTION
"says from a capture how true a clock is
clockassay reads captures of a clock pin, taken by a logic analyzer, and says
what the frequency is and how sure that is, how far off in ppm, and how it
jitters; whether that is good enough for the tolerance of the crystal and for
what hangs on the clock; and, when it is not, why, and what to change.
.
A result is one capture of one board; it is not a calibration certificate.")
set(CPACK_DEBIAN_PROGRAM_PACKAGE_SHLIBDEPS ON)
# Loaded when they are called, so that shlibdeps does not see them. Captures
# packed with gzip are read by the first: that is no extra. Charts (--report,
# --plots) need the second: most people want them, but a rig that
# judges captures does without, and the message names the package. The third
# only a store on a PostgreSQL server needs.
set(CPACK_DEBIAN_PROGRAM_PACKAGE_DEPENDS libisal2)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_RECOMMENDS libplplot17)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_SUGGESTS libpq5)

set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_NAME libclockassay-dev)
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_SECTION libdevel)
set(CPACK_COMPONENT_DEVELOPMENT_DESCRIPTION
"says from a capture how true a clock is - library
Archives and headers of what clockassay does, for other programs in C++20: read
a capture, estimate, judge, plan, report. For CMake and pkg-config.")
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_DEPENDS
  "libexpected-dev, libfftw3-dev, libisal2, libpugixml-dev, libzstd-dev")

install(FILES ${CMAKE_CURRENT_LIST_DIR}/debian/copyright
  DESTINATION ${CMAKE_INSTALL_DOCDIR} COMPONENT program)
include(CPack)
