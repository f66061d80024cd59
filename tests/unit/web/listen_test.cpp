// The control socket's file: its mode, stale ones, and what is left alone.
#include "web/listen.h"

#include <fcntl.h>
#include <gmock/gmock.h>
#include <sys/stat.h>

#include "raw_client.h"

namespace clutchward {
namespace {

mode_t mode_of(const std::string& path) {
  struct stat there {};
  EXPECT_EQ(::stat(path.c_str(), &there), 0);
  return there.st_mode & 07777;
}

TEST(Listen, SocketHasItsModeWhateverTheUmaskAndTheFolderKeepsIts) {
  const test::Folder folder;
  ASSERT_EQ(::chmod(folder.path().c_str(), 0711), 0);
  for (const mode_t mask : {0000, 0022, 0077}) {
    const mode_t before = ::umask(mask);
    const auto socket = listen_at_path(folder.path() + "/control.sock");
    ::umask(before);
    ASSERT_TRUE(socket) << socket.why();
    EXPECT_EQ(mode_of(folder.path() + "/control.sock"), 0660U);
    EXPECT_EQ(mode_of(folder.path()), 0711U);
  }
}

TEST(Listen, DeadSocketIsReplacedAndLivingOneIsNot) {
  const test::Folder folder;
  const std::string path = folder.path() + "/control.sock";
  { ASSERT_TRUE(listen_at_path(path)); }  // its file stays behind, as after a crash
  const auto living = listen_at_path(path);
  ASSERT_TRUE(living) << living.why();
  EXPECT_TRUE(test::RawClient(path).connected());
  const auto second = listen_at_path(path);
  ASSERT_FALSE(second);
  EXPECT_EQ(second.why(), path + " is in use: another daemon runs on this state");
  EXPECT_TRUE(test::RawClient(path).connected());
}

TEST(Listen, WhatIsNoSocketIsLeftAlone) {
  const test::Folder folder;
  const std::string path = folder.path() + "/control.sock";
  const int file = ::open(path.c_str(), O_CREAT | O_WRONLY, 0600);
  ASSERT_EQ(::write(file, "eggs", 4), 4);
  ::close(file);
  const auto socket = listen_at_path(path);
  ASSERT_FALSE(socket);
  EXPECT_EQ(socket.why(), path + " is there and is no socket: it is left alone");
  struct stat there {};
  ASSERT_EQ(::stat(path.c_str(), &there), 0);
  EXPECT_EQ(there.st_size, 4);
}

TEST(Listen, LongAndMissingFoldersAreSaid) {
  const std::string path = "/tmp/" + std::string(120, 'x') + "/control.sock";
  EXPECT_EQ(listen_at_path(path).why(),
            path +
                " has 138 bytes; the path of a socket takes at most 103: give a state folder with "
                "a shorter name");
  EXPECT_EQ(listen_at_path("/tmp/clutchward-not-there/control.sock").why(),
            "/tmp/clutchward-not-there/control.sock.new: No such file or directory");
}

TEST(Listen, OnlyTheOwnFileIsRemoved) {
  const test::Folder folder;
  const std::string path = folder.path() + "/control.sock";
  SocketFile first;
  {
    const auto socket = listen_at_path(path);
    ASSERT_TRUE(socket);
    first = socket_file(path);
  }
  const auto second = listen_at_path(path);
  ASSERT_TRUE(second);
  // The inode may be given anew; a path that is another file is told by it.
  if (socket_file(path).inode != first.inode) {
    remove_if_same(first);
    EXPECT_TRUE(test::RawClient(path).connected());
  }
  remove_if_same(socket_file(path));
  EXPECT_FALSE(test::RawClient(path).connected());
}

TEST(Listen, AddressesAreNumbers) {
  for (const char* bad : {"", "8742", ":8742", "localhost:8742", "127.0.0.1:", "127.0.0.1:65536",
                          "[::1:8742", "127.0.0.1:80 "})
    EXPECT_EQ(
        listen_at_address(bad).why(),
        "\"" + std::string(bad) + "\" is no address to listen at; expected such as 127.0.0.1:8742");
  const auto port = std::to_string(test::free_port());
  const auto first = listen_at_address("127.0.0.1:" + port);
  ASSERT_TRUE(first) << first.why();
  EXPECT_EQ(listen_at_address("127.0.0.1:" + port).why(),
            "127.0.0.1:" + port + ": Address already in use");
  EXPECT_EQ(host_of("127.0.0.1:8742"), "127.0.0.1");
  EXPECT_EQ(host_of("[::1]:8742"), "::1");
}

}  // namespace
}  // namespace clutchward
