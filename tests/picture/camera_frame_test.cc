// SPDX-License-Identifier: Apache-2.0
//
// Frames as cameras give them. The JPEG is an 8 by 8 picture by Pillow (libjpeg, with the typical Huffman
// tables of ITU-T T.81, annex K.3); the colours of YUYV are those of ITU-R BT.601: 16 128 128 is black,
// 235 128 128 white, and 81 90 240 is a full red (its table of colour bars, 100 %).
#include "picture/camera_frame.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace drycrank::picture {
namespace {

using testing::HasSubstr;

constexpr std::string_view kJpegHex =
    "ffd8ffe000104a46494600010100000100010000ffdb0043000d090a0b0a080d0b0a0b0e0e0d0f1320151312"
    "1213271c1e17202e2931302e292d2c333a4a3e333646372c2d405741464c4e525352323e5a615a50604a5152"
    "4fffdb0043010e0e0e131113261515264f352d354f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f"
    "4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4f4fffc000110800080008030122000211010311"
    "01ffc4001f0000010501010101010100000000000000000102030405060708090a0bffc400b5100002010303"
    "020403050504040000017d01020300041105122131410613516107227114328191a1082342b1c11552d1f024"
    "33627282090a161718191a25262728292a3435363738393a434445464748494a535455565758595a63646566"
    "6768696a737475767778797a838485868788898a92939495969798999aa2a3a4a5a6a7a8a9aab2b3b4b5b6b7"
    "b8b9bac2c3c4c5c6c7c8c9cad2d3d4d5d6d7d8d9dae1e2e3e4e5e6e7e8e9eaf1f2f3f4f5f6f7f8f9faffc400"
    "1f0100030101010101010101010000000000000102030405060708090a0bffc400b511000201020404030407"
    "05040400010277000102031104052131061241510761711322328108144291a1b1c109233352f0156272d10a"
    "162434e125f11718191a262728292a35363738393a434445464748494a535455565758595a63646566676869"
    "6a737475767778797a82838485868788898a92939495969798999aa2a3a4a5a6a7a8a9aab2b3b4b5b6b7b8b9"
    "bac2c3c4c5c6c7c8c9cad2d3d4d5d6d7d8d9dae2e3e4e5e6e7e8e9eaf2f3f4f5f6f7f8f9faffda000c030100"
    "02110311003f00c4a28a2b9cfaf3ffd9";

std::string Bytes(std::string_view hex) {
  std::string bytes;
  for (std::size_t i = 0; i + 1 < hex.size(); i += 2) {
    bytes += static_cast<char>(std::stoi(std::string(hex.substr(i, 2)), nullptr, 16));
  }
  return bytes;
}

CameraFrame Jpeg(std::string bytes) {
  return {CameraFrame::Kind::kJpeg, 8, 8, 0, std::move(bytes)};
}
CameraFrame Yuyv(int width, int height, int line, std::string bytes) {
  return {CameraFrame::Kind::kYuyv, width, height, line, std::move(bytes)};
}

// Segments FF C4, one after the other.
std::string WithoutTables(std::string jpeg) {
  for (std::size_t at = jpeg.find("\xFF\xC4"); at != std::string::npos;
       at = jpeg.find("\xFF\xC4")) {
    const auto high = static_cast<unsigned char>(jpeg[at + 2]),
               low = static_cast<unsigned char>(jpeg[at + 3]);
    jpeg.erase(at, 2 + std::size_t{high} * 256 + low);
  }
  return jpeg;
}

TEST(CameraFrame, AWholeJpegStaysAsItIs) {
  const PictureFile file = PictureOf(Jpeg(Bytes(kJpegHex)));
  EXPECT_EQ(file.problem, "");
  EXPECT_EQ(file.ending, "jpg");
  EXPECT_EQ(file.bytes, Bytes(kJpegHex));
}

TEST(CameraFrame, TablesThatWereLeftOutArePutInWhereTheyStood) {
  const std::string without = WithoutTables(Bytes(kJpegHex));
  ASSERT_EQ(without.size() + 432, Bytes(kJpegHex).size());
  EXPECT_EQ(PictureOf(Jpeg(without)).bytes, Bytes(kJpegHex));
}

TEST(CameraFrame, WhatIsNoWholeJpegIsRefused) {
  EXPECT_THAT(PictureOf(Jpeg("")).problem, HasSubstr("no JPEG"));
  EXPECT_THAT(PictureOf(Jpeg("GIF89a")).problem, HasSubstr("no JPEG"));
  for (std::size_t length = 5; length < 600; length += 7) {
    const PictureFile torn = PictureOf(Jpeg(Bytes(kJpegHex).substr(0, length)));
    EXPECT_THAT(torn.problem, HasSubstr("ends before its picture")) << length;
  }
}

TEST(CameraFrame, ColoursOfYuyvAreThoseOfTheStandard) {
  const std::string bytes = Bytes(
      "10801080"
      "eb80eb80"
      "515a51f0"
      "00800080");
  const PictureFile file = PictureOf(Yuyv(8, 1, 16, bytes));
  EXPECT_EQ(file.ending, "ppm");
  const std::string head = "P6\n8 1\n255\n";
  ASSERT_EQ(file.bytes.substr(0, head.size()), head);
  const std::string pixels = file.bytes.substr(head.size());
  ASSERT_EQ(pixels.size(), 24u);
  EXPECT_EQ(pixels.substr(0, 6), Bytes("000000000000"));
  EXPECT_EQ(pixels.substr(6, 6), Bytes("ffffffffffff"));
  EXPECT_GE(static_cast<unsigned char>(pixels[12]), 253);  // red, to rounding
  EXPECT_LE(static_cast<unsigned char>(pixels[13]), 2);
  EXPECT_LE(static_cast<unsigned char>(pixels[14]), 2);
  EXPECT_EQ(pixels.substr(18, 6), Bytes("000000000000")) << "blacker than black";
}

TEST(CameraFrame, LinesMayBeLongerThanTheirPixels) {
  const PictureFile file = PictureOf(Yuyv(2, 2, 6,
                                          Bytes("108010800000"
                                                "eb80eb80")));
  EXPECT_EQ(file.problem, "");
  EXPECT_EQ(file.bytes.substr(file.bytes.size() - 12), Bytes("000000000000ffffffffffff"));
}

TEST(CameraFrame, AFrameThatIsTooShortOrOddIsRefused) {
  EXPECT_THAT(PictureOf(Yuyv(2, 2, 4, Bytes("10801080"))).problem,
              HasSubstr("gave 4 bytes of a frame of 2 by 2"));
  EXPECT_THAT(PictureOf(Yuyv(3, 1, 6, Bytes("108010801080"))).problem, HasSubstr("3 by 1"));
  EXPECT_THAT(PictureOf(Yuyv(0, 0, 0, "")).problem, HasSubstr("cannot be read"));
  EXPECT_THAT(PictureOf(Yuyv(1 << 20, 2, 0, "")).problem, HasSubstr("cannot be read"));
}

// Exif with one entry, tag 0x0112 of type 3 (SHORT), worked by hand from JEITA CP-3451.
std::string WithExif(std::string_view tiff_hex) {
  const std::string data = Bytes("457869660000") + Bytes(tiff_hex);
  const std::size_t length = data.size() + 2;
  std::string segment("\xFF\xE1");
  segment += static_cast<char>(length >> 8);
  segment += static_cast<char>(length & 0xFF);
  const std::string jpeg = Bytes(kJpegHex);
  return jpeg.substr(0, 2) + segment + data + jpeg.substr(2);
}

TEST(CameraFrame, ExifSaysWhichSideIsUp) {
  EXPECT_EQ(ExifOrientation(Bytes(kJpegHex)), 1);
  EXPECT_EQ(ExifOrientation(WithExif("49492a0008000000"
                                     "0100"
                                     "1201"
                                     "0300"
                                     "01000000"
                                     "06000000"
                                     "00000000")),
            6);
  EXPECT_EQ(ExifOrientation(WithExif("4d4d002a00000008"
                                     "0001"
                                     "0112"
                                     "0003"
                                     "00000001"
                                     "00080000"
                                     "00000000")),
            8);
  EXPECT_EQ(ExifOrientation(WithExif("49492a0008000000"
                                     "0100"
                                     "1201"
                                     "0300"
                                     "01000000"
                                     "99000000"
                                     "00000000")),
            1);
  EXPECT_EQ(ExifOrientation(WithExif("49492a00ffff0000"
                                     "0100")),
            1);
  EXPECT_EQ(ExifOrientation(""), 1);
}

}  // namespace
}  // namespace drycrank::picture
