# What goes into the Debian package, made by tools/package.

install(FILES packaging/hingeline.service DESTINATION lib/systemd/system)
install(FILES packaging/hingeline.sysusers DESTINATION lib/sysusers.d RENAME hingeline.conf)
install(FILES packaging/hingeline.default DESTINATION /etc/default RENAME hingeline)
install(FILES LICENSE DESTINATION share/doc/hingeline RENAME copyright)
install(FILES CHANGELOG.md docs/shop-server.md docs/formats/archive.md docs/formats/csv.md docs/formats/api.json
        DESTINATION share/doc/hingeline)
install(FILES examples/saxophone.json examples/clarinet.json examples/shop.json DESTINATION share/doc/hingeline/examples)

set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_PACKAGE_CONTACT "The Hingeline contributors <hingeline@shop.example>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "how each key of a woodwind sits between its posts")
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION misc)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
# The fonts of drawings and papers, read as the program runs.
set(CPACK_DEBIAN_PACKAGE_DEPENDS "fonts-dejavu-core, fonts-wqy-microhei")
set(CPACK_DEBIAN_PACKAGE_SUGGESTS "postgresql")
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION ON)
set(CPACK_DEBIAN_PACKAGE_CONTROL_EXTRA
    "${PROJECT_SOURCE_DIR}/packaging/postinst;${PROJECT_SOURCE_DIR}/packaging/prerm;${PROJECT_SOURCE_DIR}/packaging/postrm;${PROJECT_SOURCE_DIR}/packaging/conffiles")
include(CPack)
