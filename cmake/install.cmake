# What `cmake --install` lays where Debian expects it. A configuration that is there already is the
# keeper's and is never written over.
set(CLUTCHWARD_SYSCONFDIR "${CMAKE_INSTALL_FULL_SYSCONFDIR}/clutchward")
pkg_get_variable(SYSTEMD_UNITS systemd systemdsystemunitdir)
if(NOT SYSTEMD_UNITS)
  set(SYSTEMD_UNITS /lib/systemd/system)
endif()

install(TARGETS clutchwardd clutchward cabinet-sim RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
install(DIRECTORY config/profiles/ DESTINATION ${CMAKE_INSTALL_DATADIR}/clutchward/profiles
        FILES_MATCHING PATTERN "*.yaml")
install(FILES systemd/clutchward.service DESTINATION ${SYSTEMD_UNITS})
install(FILES systemd/clutchward.sysusers DESTINATION lib/sysusers.d RENAME clutchward.conf)
install(FILES config/schema/clutchward.schema.json
        DESTINATION ${CMAKE_INSTALL_DATADIR}/clutchward)
install(FILES ${CMAKE_BINARY_DIR}/completion.bash
        DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions RENAME clutchward)
install(FILES ${CMAKE_BINARY_DIR}/completion.zsh
        DESTINATION ${CMAKE_INSTALL_DATADIR}/zsh/vendor-completions RENAME _clutchward)
install(FILES README.md DEVELOPERS.md config/clutchward.yaml
        DESTINATION ${CMAKE_INSTALL_DOCDIR})
# file(INSTALL) puts DESTDIR in front by itself, EXISTS does not.
install(CODE "
  set(there \"\$ENV{DESTDIR}${CLUTCHWARD_SYSCONFDIR}/clutchward.yaml\")
  if(NOT EXISTS \"\${there}\")
    file(INSTALL \"${CMAKE_SOURCE_DIR}/config/clutchward.yaml\" DESTINATION \"${CLUTCHWARD_SYSCONFDIR}\")
  endif()")
