// Secret files: what is taken from them, and that nothing of them stands in a refusal.
#include "channel/secret_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <stdlib.h>
#include <sys/stat.h>

#include <filesystem>
#include <fstream>

#include "base/limits.h"

namespace clutchward {
namespace {

class SecretFile : public testing::Test {
 protected:
  void write(const std::string& content) { std::ofstream(path_, std::ios::binary) << content; }
  void SetUp() override {
    folder_ = testing::TempDir() + "/secret-XXXXXX";
    ASSERT_NE(::mkdtemp(folder_.data()), nullptr);
    path_ = folder_ + "/secret";
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  std::string folder_;
  std::string path_;
};

TEST_F(SecretFile, GivesEachLineOnce) {
  write("whsec_new\r\n\n  whsec_old \n");
  const auto lines = read_secret_lines(path_);
  ASSERT_TRUE(lines) << lines.why();
  EXPECT_THAT(*lines, testing::ElementsAre("whsec_new", "whsec_old"));
}

TEST_F(SecretFile, GivesThePasswordAsItStands) {
  write(" a pass\tword \r\nsecond line\n");
  EXPECT_EQ(*read_password(path_), " a pass\tword ");
  write("no line end");
  EXPECT_EQ(*read_password(path_), "no line end");
}

TEST_F(SecretFile, RefusesWithTheFilesName) {
  EXPECT_EQ(read_secret_lines(path_).why(), "secret file " + path_ + ": No such file or directory");
  write("\n \n");
  EXPECT_EQ(read_secret_lines(path_).why(), "secret file " + path_ + ": empty");
  write("");
  EXPECT_EQ(read_password(path_).why(), "secret file " + path_ + ": empty");
  write(std::string(limits::kSecretFileBytes + 1, 'x'));
  EXPECT_EQ(read_password(path_).why(), "secret file " + path_ + ": larger than 4096 bytes");
  write("a\nb\nc\nd\ne\nf\ng\nh\ni\n");
  EXPECT_EQ(read_secret_lines(path_).why(), "secret file " + path_ + ": more than 8 lines");
}

TEST_F(SecretFile, IsNotHeldByWhatIsNoFile) {
  EXPECT_EQ(read_password(folder_).why(), "secret file " + folder_ + ": Is a directory");
  EXPECT_EQ(read_password("/dev/zero").why(), "secret file /dev/zero: larger than 4096 bytes");
  ASSERT_EQ(::mkfifo(path_.c_str(), 0600), 0);
  EXPECT_EQ(read_password(path_).why(), "secret file " + path_ + ": empty");
}

}  // namespace
}  // namespace clutchward
